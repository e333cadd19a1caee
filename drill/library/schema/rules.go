package schema

import (
	"reflect"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/datasheet"
	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// rule is something that is true of several fields of a group together.
type rule func(t reflect.Type) []*Schema

// rules are those of each group, as the checks of the loader have them.
var rules = map[reflect.Type][]rule{
	reflect.TypeFor[aircraft.Control]():    {one("positions", "travel")},
	reflect.TypeFor[aircraft.Travel]():     {positive("step")},
	reflect.TypeFor[aircraft.Gauge]():      {natural("tolerance")},
	reflect.TypeFor[aircraft.Alert]():      {with("mute", "silenced")},
	reflect.TypeFor[aircraft.Systems]():    {one("turbine", "piston"), engines},
	reflect.TypeFor[aircraft.Clutch]():     {one("engage", "lever")},
	reflect.TypeFor[aircraft.Electrical](): {breakers},
	reflect.TypeFor[aircraft.RunMove]():    {with("within", "until")},
	reflect.TypeFor[aircraft.Profile]():    {measured, with("leave_out", "based_on"), never("based_on", "like")},

	reflect.TypeFor[procedure.Item](): {
		one("set", "check", "read", "callout", "confirm", "figure"), with("if_not", "check", "confirm"), with("wait", "after", "callout"),
		never("hold", "read"), never("hold", "callout"), never("hold", "figure"),
	},
	reflect.TypeFor[procedure.IfNot](): {some("say", "set", "stop"), never("stop", "set")},

	reflect.TypeFor[scenario.Scenario]():  {policies},
	reflect.TypeFor[scenario.Injection](): {one("during", "when", "at")},
	reflect.TypeFor[scenario.Par]():       {func(reflect.Type) []*Schema { return []*Schema{{MinNames: 1}} }},
	reflect.TypeFor[scenario.Abnormal]():  {harmless, never("reset", "remains"), called},
	reflect.TypeFor[scenario.Action]():    {one("set", "silence", "answer"), with("after", "set")},
	reflect.TypeFor[scenario.Answers]():   {some("start_from", "answers")},
	reflect.TypeFor[scenario.Answer]():    {one("item", "abnormal", "at")},
	reflect.TypeFor[scenario.Act]():       {never("time", "phase"), never("time", "item"), never("phase", "item")},

	reflect.TypeFor[practice.Criteria](): {asked},
}

// alsoNeeded are fields that a group needs and whose absence the loader tells by another name.
var alsoNeeded = map[string]bool{
	"aircraft.Travel.Step": true, "aircraft.Bus.ID": true, "aircraft.Equipment.ID": true, "scenario.Cause.To": true,
}

// given is that a field has been written, and not as what it is when it is left out.
func given(t reflect.Type, name string) *Schema {
	return &Schema{Required: []string{name}, Properties: Properties{{name, something(fieldOf(t, name).Type)}}}
}

// fieldOf finds the field of a struct that is called so in documents; a name that there is not is a mistake of this program.
func fieldOf(t reflect.Type, name string) reflect.StructField {
	for i := range t.NumField() {
		if about, ok := library.FieldOf(t, t.Field(i)); ok && about.Path == name {
			return t.Field(i)
		}
	}
	panic("schema: " + t.String() + " has no field " + name)
}

// something is any value but that of a field that was left out.
func something(t reflect.Type) *Schema {
	switch {
	case t == reflect.TypeFor[time.Duration]():
		return &Schema{Pattern: "[1-9]"}
	case t == reflect.TypeFor[aircraft.Settings](), t.Kind() == reflect.Map:
		return &Schema{MinNames: 1}
	}
	switch t.Kind() {
	case reflect.Slice:
		return &Schema{MinItems: 1}
	case reflect.String:
		return &Schema{Not: &Schema{Const: ""}}
	case reflect.Bool:
		return &Schema{Const: true}
	case reflect.Int:
		return &Schema{Not: &Schema{Const: 0}}
	}
	return &Schema{} // a pointer: whatever is written counts
}

func all(t reflect.Type, names []string) (list []*Schema) {
	for _, name := range names {
		list = append(list, given(t, name))
	}
	return list
}

// one is that exactly one of some fields is given, some that one is at least.
func one(names ...string) rule {
	return func(t reflect.Type) []*Schema { return []*Schema{{OneOf: all(t, names)}} }
}

func some(names ...string) rule {
	return func(t reflect.Type) []*Schema { return []*Schema{{AnyOf: all(t, names)}} }
}

// with is that a field needs one of some others.
func with(name string, others ...string) rule {
	return func(t reflect.Type) []*Schema {
		return []*Schema{{If: given(t, name), Then: &Schema{AnyOf: all(t, others)}}}
	}
}

// never is that two fields cannot both be given.
func never(a, b string) rule {
	return func(t reflect.Type) []*Schema { return []*Schema{no(given(t, a), given(t, b))} }
}

// no is that not all of some things are so.
func no(list ...*Schema) *Schema { return &Schema{Not: &Schema{AllOf: list}} }

// positive is that a number is above 0.
func positive(name string) rule {
	return func(reflect.Type) []*Schema {
		return []*Schema{{Properties: Properties{{name, &Schema{Above: "0"}}}}}
	}
}

// natural is that a number is not below 0.
func natural(name string) rule {
	return func(reflect.Type) []*Schema {
		return []*Schema{{Properties: Properties{{name, &Schema{Minimum: "0"}}}}}
	}
}

// each is that something is true of every element of a list.
func each(name string, element *Schema) *Schema {
	return &Schema{Properties: Properties{{name, &Schema{Items: element}}}}
}

// breakers is that something pushes in again what can pop.
func breakers(t reflect.Type) []*Schema {
	popping := &Schema{Required: []string{"equipment"}, Properties: Properties{{"equipment", &Schema{Contains: given(reflect.TypeFor[aircraft.Equipment](), "breaker")}}}}
	return []*Schema{{If: popping, Then: given(t, "breakers")}}
}

// engines is what each kind of engine needs, and what it cannot have.
func engines(t reflect.Type) []*Schema {
	e := reflect.TypeFor[aircraft.Engine]()
	engine := func(needed, foreign []string) *Schema {
		s := &Schema{AllOf: all(e, needed)}
		for _, name := range foreign {
			s.AllOf = append(s.AllOf, no(given(e, name)))
		}
		return each("engines", s)
	}
	has := func(name string) *Schema { return given(t, name) }
	turbine := &Schema{AllOf: []*Schema{has("governor"), {OneOf: all(t, []string{"fadec", "metering"})}, no(has("clutch"))}}
	piston := &Schema{AllOf: []*Schema{has("clutch"), no(has("governor")), no(has("fadec")), no(has("metering")),
		{Properties: Properties{{"engines", &Schema{MaxItems: most(1)}}}},
		engine([]string{"starter", "throttle", "magnetos", "carb_heat", "rpm_hold"}, []string{"fadec", "sweeps", "bleed"})}}
	return []*Schema{
		{If: has("turbine"), Then: turbine},
		{If: has("piston"), Then: piston},
		{If: &Schema{AllOf: []*Schema{has("turbine"), has("fadec")}}, Then: engine([]string{"fadec"}, []string{"throttle", "magnetos", "carb_heat", "rpm_hold"})},
		{If: &Schema{AllOf: []*Schema{has("turbine"), has("metering")}},
			Then: engine([]string{"starter", "throttle"}, []string{"fadec", "sweeps", "magnetos", "carb_heat", "rpm_hold"})},
	}
}

// measured is that a figure of a data sheet is one of the engines that the aircraft has, and has the run that it is taken from.
func measured(t reflect.Type) (list []*Schema) {
	e := reflect.TypeFor[aircraft.Expected]()
	for _, kind := range []string{"turbine", "piston"} {
		suits := map[string]string{} // the run of a figure
		var foreign []*Schema
		for _, f := range datasheet.Sources() {
			if kind == "turbine" && f.Turbine || kind == "piston" && f.Piston {
				suits[f.Name] = f.Run
			}
		}
		var then []*Schema
		for _, run := range datasheet.RunNames() {
			var of []*Schema
			for _, f := range datasheet.Sources() {
				if suits[f.Name] == f.Run && f.Run == run {
					of = append(of, given(e, f.Name))
				}
			}
			if of != nil {
				then = append(then, &Schema{If: &Schema{AnyOf: of}, Then: &Schema{Required: []string{"runs"}, Properties: Properties{{"runs", &Schema{Required: []string{run}}}}}})
			}
		}
		for _, f := range datasheet.Sources() {
			if suits[f.Name] == "" {
				foreign = append(foreign, given(e, f.Name))
			}
		}
		then = append(then, &Schema{Not: &Schema{AnyOf: foreign}})
		list = append(list, &Schema{
			If:   &Schema{Required: []string{"systems"}, Properties: Properties{{"systems", given(reflect.TypeFor[aircraft.Systems](), kind)}}},
			Then: &Schema{Properties: Properties{{"expected", &Schema{AllOf: then}}}},
		})
	}
	return list
}

// policies is what a scenario cannot have, and what it needs, with some ways of going through it.
func policies(t reflect.Type) (list []*Schema) {
	for _, p := range scenario.Policies() {
		is := &Schema{Required: []string{"policy"}, Properties: Properties{{"policy", &Schema{Const: string(p.Name)}}}}
		var then []*Schema
		if p.Flow != scenario.Checklist {
			then = append(then, no(given(t, "phases")))
		}
		if p.Flow != scenario.Figures {
			then = append(then, no(given(t, "questions")))
		}
		switch p.Flow {
		case scenario.Figures:
			then = append(then, no(given(t, "injections")), no(given(t, "drawn")))
		case scenario.Nothing:
			then = append(then, &Schema{AnyOf: all(t, []string{"injections", "drawn"})},
				&Schema{Properties: Properties{{"drawn", no(given(reflect.TypeFor[scenario.Drawn](), "phases"))}}},
				each("injections", no(given(reflect.TypeFor[scenario.Injection](), "during"))))
		}
		list = append(list, &Schema{If: is, Then: &Schema{AllOf: then}})
	}
	return list
}

// harmless is what a look-alike and what any other abnormal has to have.
func harmless(t reflect.Type) []*Schema {
	return []*Schema{{
		If:   given(t, "harmless"),
		Then: &Schema{AllOf: []*Schema{given(t, "timeout"), no(given(t, "actions")), no(given(t, "reset"))}},
		Else: &Schema{AllOf: []*Schema{{AnyOf: all(t, []string{"cause", "call"})}, {AnyOf: all(t, []string{"actions", "handled"})}}},
	}}
}

// called is that a call that is a cue has words.
func called(t reflect.Type) []*Schema {
	cue := &Schema{Required: []string{"cues"}, Properties: Properties{{"cues", &Schema{Contains: &Schema{Const: scenario.Call}}}}}
	return []*Schema{{If: cue, Then: given(t, "call")}}
}

// asked is how many surprises can be asked for.
func asked(reflect.Type) []*Schema {
	return []*Schema{{Properties: Properties{{"surprises", &Schema{Minimum: "0", Maximum: "50"}}}}}
}
