package score_test

import (
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"

	"hornlark/drill/record"
	"hornlark/drill/score"
)

// member is what the JSON Schema says of one member of an object.
type member struct {
	Ref   string `json:"$ref"`
	Type  any    `json:"type"`
	Items *member
}

// The JSON Schema of the records names every member of a result, with its type, and no other.
func TestSchemaNamesEveryMember(t *testing.T) {
	var schema struct {
		Defs map[string]struct{ Properties map[string]member } `json:"$defs"`
	}
	if err := json.Unmarshal(record.Schema, &schema); err != nil {
		t.Fatal(err)
	}
	var check func(name string, of reflect.Type)
	check = func(name string, of reflect.Type) {
		known := maps.Clone(schema.Defs[name].Properties)
		for f := range of.Fields() {
			tag, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			m, ok := known[tag]
			if !f.IsExported() {
				continue
			}
			if !ok {
				t.Errorf("%s.%s is not in the schema", name, tag)
				continue
			}
			delete(known, tag)
			kind := f.Type
			if kind.Kind() == reflect.Slice {
				if m.Type != "array" || m.Items == nil {
					t.Errorf("%s.%s is %v; it is an array", name, tag, m.Type)
					continue
				}
				kind, m = kind.Elem(), *m.Items
			}
			if kind.Kind() == reflect.Pointer && kind.Elem().Kind() == reflect.Struct {
				kind = kind.Elem() // one that may be left out
			}
			if kind.Kind() == reflect.Struct {
				check(strings.TrimPrefix(m.Ref, "#/$defs/"), kind)
			} else if want := typeOf(kind); !reflect.DeepEqual(m.Type, want) {
				t.Errorf("%s.%s is %v; wanted %v", name, tag, m.Type, want)
			}
		}
		if len(known) > 0 {
			t.Errorf("%s has no %v", name, slices.Sorted(maps.Keys(known)))
		}
	}
	check("result", reflect.TypeFor[score.Result]())
}

// typeOf is what the schema calls a type.
func typeOf(t reflect.Type) any {
	switch t.Kind() {
	case reflect.Bool:
		return "boolean"
	case reflect.Int:
		return "integer"
	case reflect.Float64:
		return "number"
	case reflect.String:
		return "string"
	case reflect.Pointer:
		return []any{typeOf(t.Elem()), "null"}
	}
	return t.String()
}
