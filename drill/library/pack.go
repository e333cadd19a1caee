package library

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"time"
)

// packed is a bundle as one JSON object. Its documents have the fields that they have as files.
type packed struct {
	Profile   json.RawMessage   `json:"profile"`
	Procedure json.RawMessage   `json:"procedure"`
	Scenario  json.RawMessage   `json:"scenario"`
	Abnormals []json.RawMessage `json:"abnormals"`
	Own       bool              `json:"own,omitempty"` // the profile did not come with the program
}

// Pack gives the documents of the bundle as one JSON object, to be kept with a sitting: a log can then be judged again
// when the files have long since changed. The same documents give the same bytes. A data sheet is left out, which no sitting
// goes by.
func (b *Bundle) Pack() []byte {
	profile := *b.Profile
	profile.Expected = nil
	profile.BasedOn, profile.LeaveOut, profile.Like = "", nil, "" // it is whole, and needs no other
	p := packed{Own: b.Profile.Own, Profile: pack(&profile), Procedure: pack(b.Procedure), Scenario: pack(b.Scenario), Abnormals: []json.RawMessage{}}
	for _, a := range b.Abnormals {
		p.Abnormals = append(p.Abnormals, pack(a))
	}
	return toJSON(p)
}

// pack writes one document.
func pack(doc any) json.RawMessage { return toJSON(plain(reflect.ValueOf(doc).Elem())) }

func toJSON(v any) []byte {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false) // conditions are full of < and >
	if err := enc.Encode(v); err != nil {
		panic(err) // texts, finite numbers, lists and maps can always be written
	}
	return bytes.TrimSpace(b.Bytes())
}

// plain gives what the decoder would make the same value of: times as texts, and nothing for what says nothing. Numbers
// are always given, since a zero may have been written on purpose.
func plain(v reflect.Value) any {
	switch v.Type() {
	case durationType:
		return time.Duration(v.Int()).String()
	case settingsType:
		return v.Interface() // writes itself, in its order
	}
	switch v.Kind() {
	case reflect.Pointer:
		return plain(v.Elem())
	case reflect.Struct:
		fields := map[string]any{}
		byName, _ := fieldsOf(v.Type())
		for name, i := range byName {
			if f := v.Field(i); !silent(f) {
				fields[name] = plain(f)
			}
		}
		return fields
	case reflect.Map:
		entries := map[string]any{}
		for _, key := range v.MapKeys() {
			entries[key.String()] = plain(v.MapIndex(key))
		}
		return entries
	case reflect.Slice, reflect.Array:
		elements := make([]any, v.Len())
		for i := range elements {
			elements[i] = plain(v.Index(i))
		}
		return elements
	}
	return v.Interface()
}

// silent reports whether a field says nothing.
func silent(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Slice, reflect.Map, reflect.String:
		return v.Len() == 0
	case reflect.Pointer:
		return v.IsNil()
	}
	return v.Type() == durationType && v.Int() == 0
}

// Unpack reads what Pack wrote and checks it as it would files, each document with the others. The error is Problems, at
// lines of the indented document, or says why body is no bundle.
func Unpack(body []byte) (*Bundle, error) {
	var p packed
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&p); err != nil {
		return nil, fmt.Errorf("the documents cannot be read: %w", err)
	}
	p = p.updated()
	files := []file{unpacked("profile", p.Profile), unpacked("procedure", p.Procedure), unpacked("scenario", p.Scenario)}
	for i, a := range p.Abnormals {
		files = append(files, unpacked(fmt.Sprintf("abnormals[%d]", i), a))
	}
	if len(files) > MaxFiles {
		return nil, fmt.Errorf("there are %d documents; there may be %d", len(files), MaxFiles)
	}
	l := newLibrary()
	if _, problems := l.add(files, true); len(problems) > 0 {
		return nil, problems
	}
	names := l.scenarios.names()
	if len(names) != 1 {
		return nil, fmt.Errorf("there are %d scenarios among the documents; one is wanted", len(names))
	}
	b, err := l.unpack(names[0])
	if err == nil {
		b.Profile.Own = p.Own || !builtIn(b.Profile.Name)
	}
	return b, err
}

// builtIn reports whether a profile of this name comes with the program. Documents that were kept before that was noted with them
// are told by it.
func builtIn(profile string) bool {
	l, err := Builtin()
	if err != nil {
		return false
	}
	_, err = l.Profile(profile)
	return err == nil
}

// unpack is resolve, except that an abnormal may go back to an item of a procedure that was not packed with it.
func (l *Library) unpack(name string) (*Bundle, error) {
	s := l.scenarios[name]
	b := &Bundle{Scenario: s.doc}
	var problems Problems
	if b.Profile, b.Procedure, problems = l.checkScenario(s); len(problems) > 0 {
		return nil, problems
	}
	problems = l.checkProcedure(l.procedures[b.Procedure.Name])
	names := s.doc.Abnormals()
	for _, name := range l.abnormals.names() { // and those that an instructor could have put in
		if !slices.Contains(names, name) {
			names = append(slices.Clip(names), name)
		}
	}
	for _, name := range names {
		if a, ok := l.abnormals[name]; ok {
			problems = append(problems, a.source.locate(a.doc.Check(b.Profile))...)
			b.Abnormals = append(b.Abnormals, a.doc)
		}
	}
	if len(problems) > 0 {
		return nil, problems
	}
	return b, nil
}

// unpacked makes a file of a document, with lines that an error can name.
func unpacked(name string, body json.RawMessage) file {
	var b bytes.Buffer
	if err := json.Indent(&b, body, "", "  "); err != nil {
		return file{name: name, data: nil} // it was left out, which is what the parser will say
	}
	return file{name: name, data: b.Bytes()}
}
