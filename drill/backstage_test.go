package drill_test

import (
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill"
)

// Nothing of a View leads to what goes on behind the scenes: neither to a Stage or a part of one, nor to a sitting.
func TestAViewHasNothingOfTheBackstage(t *testing.T) {
	hidden := map[reflect.Type]bool{}
	var hide func(reflect.Type)
	hide = func(of reflect.Type) {
		if of.Kind() == reflect.Slice || of.Kind() == reflect.Pointer {
			hide(of.Elem())
			return
		}
		if of.Kind() == reflect.Struct && of.PkgPath() == reflect.TypeFor[drill.Stage]().PkgPath() && !hidden[of] {
			hidden[of] = true
			for f := range of.Fields() {
				hide(f.Type)
			}
		}
	}
	hide(reflect.TypeFor[drill.Stage]())
	hidden[reflect.TypeFor[drill.Sitting]()] = true
	if len(hidden) < 8 {
		t.Fatalf("only %d types are looked for", len(hidden))
	}
	seen := map[reflect.Type]bool{}
	var look func(path string, of reflect.Type)
	look = func(path string, of reflect.Type) {
		if seen[of] {
			return
		}
		seen[of] = true
		if hidden[of] {
			t.Errorf("%s leads to %v", path, of)
		}
		switch of.Kind() {
		case reflect.Slice, reflect.Pointer, reflect.Array, reflect.Map:
			look(path, of.Elem())
		case reflect.Struct:
			for f := range of.Fields() {
				if f.IsExported() { // what is not belongs to the package alone
					look(path+"."+f.Name, f.Type)
				}
			}
		case reflect.Func, reflect.Interface, reflect.Chan:
			t.Errorf("%s is a %v, behind which anything can be", path, of)
		}
	}
	look("View", reflect.TypeFor[drill.View]())
	for m := range reflect.TypeFor[*drill.View]().Methods() {
		t.Errorf("a View has a method, %s: look what it gives", m.Name)
	}
}

// Looking backstage changes nothing, and a Stage that has been used before is filled as a new one would be.
func TestBackstageChangesNothing(t *testing.T) {
	plans := deskPlans(t)
	rapid.Check(t, func(t *rapid.T) {
		plan, inputs := anyPlan(plans).Draw(t, "plan"), anyInputs().Draw(t, "inputs")
		unseen := feed(t, plan, inputs, endOf(inputs), atOnce)
		s, r := plan.begin(), &run{}
		var used drill.Stage
		look := func() {
			var fresh drill.Stage
			s.Backstage(&used)
			if s.Backstage(&fresh); len(used.Items)+len(used.Injections)+len(used.Phases)+len(used.Differs) > 0 && !reflect.DeepEqual(trimmed(used), trimmed(fresh)) {
				t.Fatalf("%+v, and fresh %+v", used, fresh)
			}
			for _, o := range s.Outputs() {
				r.take(o)
			}
		}
		for _, in := range append(inputs, drill.Stored{At: endOf(inputs)}) {
			var err error
			if in.Event == nil {
				err = s.Advance(in.At)
			} else {
				err = s.Input(in.At, in.Event)
			}
			if err != nil {
				t.Fatal(err)
			}
			look()
		}
		sameRun(t, "looked at backstage", unseen, r)
	})
}

// trimmed is a Stage whose empty slices are none at all.
func trimmed(b drill.Stage) drill.Stage {
	v := reflect.ValueOf(&b).Elem()
	for i := range v.NumField() {
		if f := v.Field(i); f.Kind() == reflect.Slice && f.Len() == 0 {
			f.SetZero()
		}
	}
	return b
}

// BenchmarkBackstage is what a look behind the scenes costs while an abnormal shows.
func BenchmarkBackstage(b *testing.B) {
	s := planOf(b, deskLibrary(b), "desk-walker").begin()
	if err := s.Input(time.Second, drill.Instruct{Do: drill.Insert, What: "walker"}); err != nil {
		b.Fatal(err)
	}
	if err := s.Advance(3 * time.Second); err != nil {
		b.Fatal(err)
	}
	var stage drill.Stage
	for b.Loop() {
		s.Backstage(&stage)
	}
	if len(stage.Differs) == 0 {
		b.Fatal("nothing differs")
	}
}
