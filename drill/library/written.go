package library

import (
	"bytes"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"time"

	"gopkg.in/yaml.v3"
)

// Written is a document, or what says what a course is, as a file that somebody can read and change: its fields in the order of the
// reference, without what says nothing. It reads back as the same document.
func Written[T any](doc *T) []byte {
	var b bytes.Buffer
	enc := yaml.NewEncoder(&b)
	enc.SetIndent(2)
	if err := enc.Encode(nodeOf(reflect.ValueOf(doc).Elem(), 0)); err != nil {
		panic(err) // texts, finite numbers, lists and maps can always be written
	}
	return b.Bytes()
}

// nodeOf is a value as it is written, so far down in the document.
func nodeOf(v reflect.Value, depth int) *yaml.Node {
	n := &yaml.Node{}
	put := func(name string, value reflect.Value) {
		n.Content = append(n.Content, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: name}, nodeOf(value, depth+1))
	}
	switch {
	case v.Type() == durationType:
		return &yaml.Node{Kind: yaml.ScalarNode, Value: time.Duration(v.Int()).String()}
	case v.Type() == settingsType: // in its order
		if err := yaml.Unmarshal(toJSON(v.Interface()), n); err != nil {
			panic(err)
		}
		return n.Content[0]
	case v.Kind() == reflect.Pointer:
		return nodeOf(v.Elem(), depth)
	case v.Kind() == reflect.Struct:
		n.Kind = yaml.MappingNode
		byName, names := fieldsOf(v.Type())
		for _, name := range names {
			f := v.Field(byName[name])
			if empty := (f.Kind() == reflect.Struct || depth == 0) && f.IsZero(); !empty && !silent(f) {
				put(name, f)
			}
		}
	case v.Kind() == reflect.Map:
		n.Kind = yaml.MappingNode
		values := map[string]reflect.Value{}
		for _, key := range v.MapKeys() {
			values[key.String()] = v.MapIndex(key)
		}
		for _, key := range slices.Sorted(maps.Keys(values)) {
			put(key, values[key])
		}
	case v.Kind() == reflect.Slice, v.Kind() == reflect.Array:
		n.Kind = yaml.SequenceNode
		for i := range v.Len() {
			n.Content = append(n.Content, nodeOf(v.Index(i), depth+1))
		}
	default:
		if err := n.Encode(v.Interface()); err != nil {
			panic(fmt.Errorf("%v: %w", v.Type(), err))
		}
		return n
	}
	if depth > 1 || v.Kind() == reflect.Slice && slices.Index([]reflect.Kind{reflect.String, reflect.Float64, reflect.Int}, v.Type().Elem().Kind()) >= 0 {
		n.Style = yaml.FlowStyle
	}
	return n
}

// Beside is what a scenario needs that does not come with the program, as it was written, each with a name for a file: its procedure, its
// profile with what that is laid over or made of, and its abnormals.
func (l *Library) Beside(b *Bundle) (files []File) {
	add := func(kind Kind, name string, own bool, source *document) {
		file := File{Name: string(kind) + "-" + name + ".yaml"}
		if own && source != nil && !slices.ContainsFunc(files, func(f File) bool { return f.Name == file.Name }) {
			file.Data = []byte(source.text)
			files = append(files, file)
		}
	}
	if e := l.procedures[b.Procedure.Name]; e.doc != nil {
		add(Procedure, b.Procedure.Name, e.own, e.source)
	}
	profiles := []string{b.Profile.Name}
	if proc := l.procedures[b.Procedure.Name]; proc.doc != nil {
		profiles = append(profiles, proc.doc.Profile)
	}
	for _, name := range profiles {
		for _, of := range append([]string{name}, l.ancestors(name)...) {
			e := l.profiles[of]
			add(Profile, of, e.own, e.source)
		}
	}
	for _, a := range b.Abnormals {
		e := l.abnormals[a.Name]
		add(Abnormal, a.Name, e.own, e.source)
	}
	return files
}
