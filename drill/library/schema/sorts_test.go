package schema

import (
	"reflect"
	"strings"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/library"
)

// below calls note for every field of documents below a type.
func below(t reflect.Type, note func(of reflect.Type, f reflect.StructField, about library.Field)) {
	for t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice || t.Kind() == reflect.Map {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct || t == reflect.TypeFor[aircraft.Setting]() {
		return
	}
	for i := range t.NumField() {
		if about, ok := library.FieldOf(t, t.Field(i)); ok {
			note(t, t.Field(i), about)
			below(t.Field(i).Type, note)
		}
	}
}

// Every text says what kind of text it is, as one that there is; every kind is one of some text, and every group with rules of its own is in
// some document.
func TestEveryTextIsOfASort(t *testing.T) {
	used, met := map[string]bool{}, map[reflect.Type]bool{}
	for _, kind := range library.Kinds() {
		below(library.Root(kind), func(of reflect.Type, f reflect.StructField, _ library.Field) {
			met[of] = true
			inner := f.Type
			for inner.Kind() == reflect.Pointer || inner.Kind() == reflect.Slice {
				inner = inner.Elem()
			}
			is, _, _ := strings.Cut(f.Tag.Get("is"), ",")
			if _, known := sorts[is]; is != "" && !known || inner.Kind() == reflect.String && is == "" && f.Type == reflect.TypeFor[string]() {
				t.Errorf("%s.%s: the tag says that it is %q, which is no sort of text", of, f.Name, is)
			}
			used[is] = true
		})
	}
	for is := range sorts {
		if !used[is] {
			t.Errorf("nothing is a %s", is)
		}
	}
	for of := range rules {
		if !met[of] {
			t.Errorf("no document has a %s", of)
		}
	}
	for key := range alsoNeeded {
		if i := strings.LastIndex(key, "."); i < 0 || !metField(met, key[:i], key[i+1:]) {
			t.Errorf("no document has %s", key)
		}
	}
}

func metField(met map[reflect.Type]bool, of, field string) bool {
	for t := range met {
		if _, ok := t.FieldByName(field); ok && t.String() == of {
			return true
		}
	}
	return false
}

// There may be as many controls as there are keys.
func TestControlsFitTheKeys(t *testing.T) {
	f, _ := reflect.TypeFor[aircraft.Profile]().FieldByName("Controls")
	about, _ := library.FieldOf(reflect.TypeFor[aircraft.Profile](), f)
	if _, most := size(&about); most != len(keys()) {
		t.Errorf("%d controls are told of for %d keys", most, len(keys()))
	}
}

// The schemas are the same each time, and whatever they say is told of in words.
func TestSchemasAreTheSameEachTime(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range library.Kinds() {
		for _, p := range lib.Profiles() {
			one, err := Of(kind, NamesOf(lib, p))
			if err != nil {
				t.Fatal(err)
			}
			two, _ := Of(kind, NamesOf(lib, p))
			if !reflect.DeepEqual(one, two) {
				t.Errorf("%s of %s differs from one time to the next", kind, p.Name)
			}
			if one.Description == "" || one.Title == "" {
				t.Errorf("%s: %q, %q", kind, one.Title, one.Description)
			}
			for _, property := range one.Properties {
				if property.Schema.Description == "" {
					t.Errorf("%s: nothing is said of %s", kind, property.Name)
				}
			}
		}
	}
	if _, err := Of("nothing", nil); err == nil {
		t.Error("there is a schema of nothing")
	}
}
