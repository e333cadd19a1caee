package library

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"sync"

	"hornlark/drill/aircraft"
	"hornlark/drill/practice"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// Field is a field that documents of a kind may have.
type Field struct {
	Path    string   `json:"path"`              // as in phases[].items[].set; [] is any element of a list, {} any name
	Type    string   `json:"type"`              // in words
	Needed  bool     `json:"needed,omitempty"`  // a document of ours without it is refused, where what it stands in is written
	Range   string   `json:"range,omitempty"`   // least and most, as in 0..1; of a curve, of its values
	Size    string   `json:"size,omitempty"`    // least and most characters of a text, elements of a list, or names
	Default string   `json:"default,omitempty"` // what holds where it is left out; empty: 0, no text, false, none
	Values  []string `json:"values,omitempty"`  // all that can be written, where they are few
	About   string   `json:"about"`             // in sentences
	Example string   `json:"example,omitempty"` // of what is written for it, as YAML in one line; empty where that is no single value
}

// Kinds lists the kinds of documents.
func Kinds() []Kind { return []Kind{Profile, Procedure, Scenario, Abnormal, Answers, Criteria} }

// roots are what documents of each kind are read into.
var roots = map[Kind]reflect.Type{
	Profile: reflect.TypeFor[aircraft.Profile](), Procedure: reflect.TypeFor[procedure.Procedure](), Scenario: reflect.TypeFor[scenario.Scenario](),
	Abnormal: reflect.TypeFor[scenario.Abnormal](), Answers: reflect.TypeFor[scenario.Answers](), Criteria: reflect.TypeFor[practice.Criteria](),
}

// fieldDocs is what is said of each field beside it in the source, and whether it is needed. It is made by a test, with -rewrite.
//
//go:embed fields.json
var fieldDocs []byte

// fieldDoc is what is kept of a field, by its place in the source, as aircraft.Control.ID.
type fieldDoc struct {
	About  string `json:"about"`
	Needed bool   `json:"needed,omitempty"`
	// what a sound document has for it, if that fits a line
	Example string `json:"example,omitempty"`
}

var docsOfFields = sync.OnceValue(func() map[string]fieldDoc {
	docs := map[string]fieldDoc{}
	if err := json.Unmarshal(fieldDocs, &docs); err != nil {
		panic("library: fields.json: " + err.Error())
	}
	return docs
})

// Fields lists every field of documents of a kind, in the order in which the source has them: a group, then what is in it.
func Fields(kind Kind) []Field {
	root, ok := roots[kind]
	if !ok {
		return nil
	}
	var list []Field
	fieldsBelow(root, "", func(path, key string, f reflect.StructField) { list = append(list, told(path, key, f)) })
	return list
}

// told is what there is to say about a field, by its place in the source.
func told(path, key string, f reflect.StructField) Field {
	doc := docsOfFields()[key]
	return Field{Path: path, Type: writtenWords(f), Needed: doc.Needed, Range: f.Tag.Get("range"), Size: f.Tag.Get("size"),
		Default: f.Tag.Get("default"), Values: valuesOf(key, f.Type), About: doc.About, Example: doc.Example}
}

// Root is the type that documents of a kind are read into; nil of a kind that there is not.
func Root(kind Kind) reflect.Type { return roots[kind] }

// FieldOf is what there is to say about a field of a struct that documents are read into: its path is its name. It is false of a field
// that no document has.
func FieldOf(t reflect.Type, f reflect.StructField) (Field, bool) {
	name := fieldName(f)
	return told(name, t.String()+"."+f.Name, f), name != ""
}

// fieldName is what a field is called in documents; empty: it is in none.
func fieldName(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
	return strings.TrimPrefix(name, "-")
}

// fieldsBelow calls note for every field below a struct: with its path, its place in the source, and itself.
func fieldsBelow(t reflect.Type, path string, note func(path, key string, f reflect.StructField)) {
	for i := range t.NumField() {
		f := t.Field(i)
		name := fieldName(f)
		if name == "" {
			continue
		}
		at := name
		if path != "" {
			at = path + "." + name
		}
		note(at, t.String()+"."+f.Name, f)
		inner := f.Type
		for inner.Kind() == reflect.Pointer || inner.Kind() == reflect.Slice || inner.Kind() == reflect.Map {
			switch inner.Kind() {
			case reflect.Slice:
				at += "[]"
			case reflect.Map:
				at += ".{}"
			}
			inner = inner.Elem()
		}
		if inner.Kind() == reflect.Struct && f.Type != settingsType {
			fieldsBelow(inner, at, note)
		}
	}
}

// textWords says what kind of text each is, by the tag of its field.
var textWords = map[string]string{
	"text": "text", "word": "text", "label": "text", "line": "text in one line", "condition": "condition", "tell": "never, at once, or after and a time",
	"name": "short name", "short": "short name", "id": "id", "bus-id": "id", "equipment-id": "id", "limit-id": "id", "group": "name of a group",
	"key": "key", "press": "key", "position": "position", "severity": "number", "tone": "tone",
	"gauge": "id of a gauge", "caption": "id of a caption", "alert": "id of an alert", "lever": "id of a lever", "look": "id of a gauge, caption or control",
	"cue": "id of what shows it, or call", "indication": "indication", "equipment": "id of equipment", "bus": "id of a bus", "failure": "failure point",
	"state": "name of a state", "reset": "name of a state, or before", "run": "name of a run or a state", "run-name": "name of a run",
	"profile": "name of a profile", "procedure": "name of a procedure", "phase": "id of a phase", "item": "id of an item", "own-item": "id of an item",
	"abnormal": "name of an abnormal", "part": "name of a procedure, or limits",
}

// writtenWords says what is written for a field.
func writtenWords(f reflect.StructField) string {
	is, _, _ := strings.Cut(f.Tag.Get("is"), ",")
	words := textWords[is]
	switch t := f.Type; {
	case words == "":
		return typeWords(t)
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Slice:
		return "list of lists, each of them: " + words
	case t.Kind() == reflect.Slice:
		return "list, each: " + words
	case t.Kind() == reflect.Map:
		return words + " with a " + typeWords(t.Elem()) + ", for each"
	}
	return words
}

// typeWords says what is written for a type.
func typeWords(t reflect.Type) string {
	switch t {
	case durationType:
		return "time, as in 1.5s"
	case settingsType:
		return `controls and positions, as in {battery: "on"}`
	case reflect.TypeFor[aircraft.Curve]():
		return "curve, as in [[0, 1], [100, 2]]"
	}
	switch t.Kind() {
	case reflect.Pointer:
		return typeWords(t.Elem())
	case reflect.Struct:
		return "group"
	case reflect.Map:
		return fmt.Sprintf("names with a %s each", typeWords(t.Elem()))
	case reflect.Slice:
		switch inner := t.Elem(); inner.Kind() {
		case reflect.Struct:
			return "list of groups"
		case reflect.Slice:
			return "list of lists"
		default:
			return "list of " + typeWords(inner) + "s"
		}
	case reflect.String:
		return "text"
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Uint64:
		return "whole number"
	}
	return "number"
}

// valuesOf is all that can be written for a field, if that is few words.
func valuesOf(key string, t reflect.Type) []string {
	switch key {
	case "aircraft.Alert.Tone":
		var names []string
		for _, tone := range aircraft.Tones {
			names = append(names, tone.Name)
		}
		return names
	case "scenario.Action.Answer":
		return []string{"yes", "no"}
	case "scenario.Answers.StartFrom":
		return []string{scenario.Perfect}
	case "scenario.Act.Do":
		return scenario.Deeds
	}
	switch t {
	case reflect.TypeFor[scenario.PolicyName]():
		return scenario.PolicyNames()
	case reflect.TypeFor[scenario.Feedback]():
		return []string{string(scenario.AtOnce), string(scenario.AtTheEnd)}
	case reflect.TypeFor[scenario.Help]():
		return []string{string(scenario.Names), string(scenario.Bare), string(scenario.None)}
	case reflect.TypeFor[aircraft.Colour]():
		return []string{string(aircraft.Green), string(aircraft.Amber), string(aircraft.Red), string(aircraft.White)}
	case reflect.TypeFor[aircraft.Level]():
		return []string{string(aircraft.Warning), string(aircraft.Caution), string(aircraft.Advisory)}
	}
	return nil
}
