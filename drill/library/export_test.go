package library

import (
	"reflect"
	"testing"

	"gopkg.in/yaml.v3"
)

// Samples are the documents in which fields are tried, by their names, each sound.
func Samples(t *testing.T) map[string]string { return samples(t) }

// Parsed is a document as the loader has it before it is taken in: its kind and what stands in it.
func Parsed(text []byte) (Kind, *yaml.Node, bool) {
	d, problems := parse("tried.yaml", text)
	if len(problems) > 0 {
		return "", nil, false
	}
	kind, problem := d.kind()
	return kind, d.root, problem == nil
}

// FaultsOf are the problems of a document among those of a library, without flying it.
func FaultsOf(l *Library, root *yaml.Node) Problems { return faultsAt(l, root) }

// Instance is a field that stands in a document.
type Instance struct {
	Kind      Kind
	Path, Key string // its place in documents, and in the source
	Field     reflect.StructField
	Root, In  *yaml.Node // the document, and the group that it stands in
	At        int        // of its name in the group
}

// EveryInstance calls try with every field that stands in a sample, once each.
func EveryInstance(t *testing.T, l *Library, try func(i Instance)) {
	everyInstance(t, l, func(path, key string, f reflect.StructField, root *yaml.Node, in *yaml.Node, at int) {
		kind, _ := (&document{root: root}).kind()
		try(Instance{kind, path, key, f, root, in, at})
	})
}

// GroupsOf calls try with every group of a document, and the type that it is read into.
func GroupsOf(kind Kind, root *yaml.Node, try func(t reflect.Type, group *yaml.Node)) {
	var walk func(t reflect.Type, n *yaml.Node)
	walk = func(t reflect.Type, n *yaml.Node) {
		switch {
		case t.Kind() == reflect.Pointer:
			walk(t.Elem(), n)
		case t.Kind() == reflect.Slice && n.Kind == yaml.SequenceNode && t != settingsType:
			for _, element := range n.Content {
				walk(t.Elem(), element)
			}
		case t.Kind() == reflect.Map && n.Kind == yaml.MappingNode:
			for i := 1; i < len(n.Content); i += 2 {
				walk(t.Elem(), n.Content[i])
			}
		case t.Kind() == reflect.Struct && n.Kind == yaml.MappingNode:
			try(t, n)
			byName, _ := fieldsOf(t)
			for i := 0; i+1 < len(n.Content); i += 2 {
				if index, ok := byName[n.Content[i].Value]; ok {
					walk(t.Field(index).Type, n.Content[i+1])
				}
			}
		}
	}
	walk(roots[kind], root)
}

// Misread reports whether a document has something in it that cannot be taken, whatever it is about.
func Misread(kind Kind, root *yaml.Node) bool {
	d := &document{root: root, places: map[string]*yaml.Node{}, spoilt: map[string]bool{}}
	return len(d.decode(reflect.New(roots[kind]).Interface())) > 0
}
