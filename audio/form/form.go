// Package form reads the YAML files about what is heard. It takes nothing that the form does not have, and refuses a file of any
// shape in a time that grows with its length and no faster.
package form

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"
)

// Bounds of a file.
const (
	MaxFaults  = 50   // that are told of at once; whoever has that many starts at the top
	MaxEntries = 5000 // of one group of fields, or of one list
	maxDepth   = 16
	maxShown   = 40 // characters of a name that is told of
)

// Decode reads one document into what v points to, by the yaml tags of its fields. Unknown fields, fields that are given twice,
// aliases and merges are errors, a line each. An empty document leaves v as it is.
func Decode(data []byte, v any) (err error) {
	defer func() { // the parser is not ours, and has been known to panic
		if r := recover(); r != nil {
			err = fmt.Errorf("it cannot be read: %v", r)
		}
	}()
	var document yaml.Node
	decoder := yaml.NewDecoder(bytes.NewReader(data))
	switch err := decoder.Decode(&document); {
	case errors.Is(err, io.EOF):
		return nil
	case err != nil:
		return err
	}
	root := document.Content[0]
	if root.Kind == yaml.ScalarNode && root.Tag == "!!null" {
		return nil
	}
	c := checker{}
	c.look(root, reflect.TypeOf(v).Elem(), 0)
	if err := errors.Join(c.faults...); err != nil {
		return err
	}
	return root.Decode(v)
}

// checker looks for what the parser would not find, or not soon enough: it compares each name in a group with every other.
type checker struct{ faults []error }

func (c *checker) full() bool { return len(c.faults) >= MaxFaults }

func (c *checker) add(n *yaml.Node, format string, args ...any) {
	if c.full() {
		return
	}
	c.faults = append(c.faults, fmt.Errorf("line %d, column %d: %s", n.Line, n.Column, fmt.Sprintf(format, args...)))
	if c.full() {
		c.faults = append(c.faults, errors.New("and perhaps more"))
	}
}

// look looks at what a node says, for a value of a type.
func (c *checker) look(n *yaml.Node, t reflect.Type, depth int) {
	switch {
	case c.full():
		return
	case depth > maxDepth:
		c.add(n, "it is too deep")
		return
	case len(n.Content) > 2*MaxEntries:
		c.add(n, "there are more than %d entries", MaxEntries)
		return
	}
	switch n.Kind {
	case yaml.AliasNode:
		c.add(n, "aliases (*) are not taken; write it out")
	case yaml.SequenceNode:
		for _, element := range n.Content {
			if element.Kind == yaml.ScalarNode && element.ShortTag() == "!!null" { // the parser would leave it out
				c.add(element, "nothing stands here; write it, or take it out of the list")
			}
			c.look(element, elementOf(t), depth+1)
		}
	case yaml.MappingNode:
		c.fields(n, t, depth)
	}
}

func (c *checker) fields(n *yaml.Node, t reflect.Type, depth int) {
	known := fieldsOf(t)
	lines := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		before, twice := lines[key.Value]
		_, ok := known[key.Value]
		switch {
		case key.Kind != yaml.ScalarNode, key.ShortTag() == "!!null": // the parser would leave that out with its value
			c.add(key, "a name is wanted here; one that is a word of YAML goes in quotes")
			continue
		case key.Tag == "!!merge":
			c.add(key, "fields cannot be merged with <<; write them out")
		case known != nil && !ok:
			c.add(key, "there is no field %q; write %s", short(key.Value), names(known))
		case twice:
			c.add(key, "%q is there already, in line %d", short(key.Value), before)
		}
		if c.full() {
			return
		}
		lines[key.Value] = key.Line
		of := elementOf(t)
		if known != nil {
			of = known[key.Value]
		}
		c.look(value, of, depth+1)
	}
}

// elementOf is the type of what a list or a map has; nil: it is not known.
func elementOf(t reflect.Type) reflect.Type {
	if t != nil {
		switch t.Kind() {
		case reflect.Slice, reflect.Array, reflect.Map, reflect.Pointer:
			return t.Elem()
		}
	}
	return nil
}

// fieldsOf is the fields of a struct by their names in a file; nil: any name will do.
func fieldsOf(t reflect.Type) map[string]reflect.Type {
	if t == nil || t.Kind() != reflect.Struct {
		return nil
	}
	fields := map[string]reflect.Type{}
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("yaml"), ",")
		fields[name] = t.Field(i).Type
	}
	return fields
}

func names(fields map[string]reflect.Type) string {
	var list []string
	for name := range fields {
		list = append(list, name)
	}
	slices.Sort(list)
	if n := len(list); n > 1 {
		return strings.Join(list[:n-1], ", ") + " or " + list[n-1]
	}
	return strings.Join(list, "")
}

func short(name string) string {
	if runes := []rune(name); len(runes) > maxShown {
		return string(runes[:maxShown]) + "…"
	}
	return name
}
