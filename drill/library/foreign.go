package library

import (
	"reflect"
	"slices"

	"gopkg.in/yaml.v3"

	"hornlark/drill/fault"
)

// foreign reports whether a file that was found in a folder is about something else: it is YAML, and has neither a field by which one of our
// kinds is told, or one that is nearly that, nor more fields that documents of a kind of ours have than others. A document of ours with
// a slip in it is never that.
func (d *document) foreign(data []byte) bool {
	if d == nil { // it is no document, whatever it is
		root, _, err := parseYAML(string(data))
		return err == nil && root != nil && root.Kind == yaml.SequenceNode // no document of ours is a list
	}
	root := d.root
	if len(root.Content) == 0 {
		return false
	}
	var written []string
	for i := 0; i < len(root.Content); i += 2 {
		written = append(written, root.Content[i].Value)
	}
	for _, m := range marks {
		for _, field := range written {
			if field == m.field || fault.Nearest(field, []string{m.field}) != "" {
				return false
			}
		}
	}
	for _, kind := range Kinds() {
		if ours := known(written, roots[kind]); 2*ours > len(written) {
			return false
		}
	}
	return true
}

// known counts the fields that documents of a kind have, or that are nearly those.
func known(written []string, kind reflect.Type) (n int) {
	_, names := fieldsOf(kind)
	for _, field := range written {
		if slices.Contains(names, field) || fault.Nearest(field, names) != "" {
			n++
		}
	}
	return n
}
