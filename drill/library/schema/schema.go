// Package schema makes JSON Schemas (draft 2020-12) of the documents that the library reads, so that an editor can complete them and check
// them as they are typed. They are made of the types that documents are read into and of the tags and sentences beside their fields,
// which are what the loader goes by; what is true of several fields together stands in rules.go.
//
// A document that its schema refuses is refused by the loader. The other way round that cannot be: Beyond lists what no schema can say.
package schema

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"hornlark/drill/library"
)

// Dialect is the version of JSON Schema that the schemas are written in.
const Dialect = "https://json-schema.org/draft/2020-12/schema"

// Schema is one, or a part of one. What is not set is not written.
type Schema struct {
	Dialect     string      `json:"$schema,omitempty"`
	ID          string      `json:"$id,omitempty"`
	Comment     string      `json:"$comment,omitempty"`
	Ref         string      `json:"$ref,omitempty"`
	Title       string      `json:"title,omitempty"`
	Description string      `json:"description,omitempty"`
	Type        any         `json:"type,omitempty"` // a name or a list of names
	Const       any         `json:"const,omitempty"`
	Enum        []any       `json:"enum,omitempty"`
	Default     any         `json:"default,omitempty"`
	Examples    []any       `json:"examples,omitempty"`
	Minimum     json.Number `json:"minimum,omitempty"`
	Maximum     json.Number `json:"maximum,omitempty"`
	Above       json.Number `json:"exclusiveMinimum,omitempty"`
	MinLength   int         `json:"minLength,omitempty"`
	MaxLength   int         `json:"maxLength,omitempty"`
	Pattern     string      `json:"pattern,omitempty"`
	MinItems    int         `json:"minItems,omitempty"`
	MaxItems    *int        `json:"maxItems,omitempty"`
	Unique      bool        `json:"uniqueItems,omitempty"`
	Prefix      []*Schema   `json:"prefixItems,omitempty"`
	Items       any         `json:"items,omitempty"` // *Schema or false
	Contains    *Schema     `json:"contains,omitempty"`
	MinNames    int         `json:"minProperties,omitempty"`
	MaxNames    int         `json:"maxProperties,omitempty"`
	Names       *Schema     `json:"propertyNames,omitempty"`
	Required    []string    `json:"required,omitempty"`
	Properties  Properties  `json:"properties,omitempty"`
	Others      any         `json:"additionalProperties,omitempty"` // *Schema or false
	AnyOf       []*Schema   `json:"anyOf,omitempty"`
	OneOf       []*Schema   `json:"oneOf,omitempty"`
	AllOf       []*Schema   `json:"allOf,omitempty"`
	Not         *Schema     `json:"not,omitempty"`
	If          *Schema     `json:"if,omitempty"`
	Then        *Schema     `json:"then,omitempty"`
	Else        *Schema     `json:"else,omitempty"`
	Defs        Properties  `json:"$defs,omitempty"`
}

// Property is a schema and what it is called.
type Property struct {
	Name   string
	Schema *Schema
}

// Properties are several, in the order in which they are written.
type Properties []Property

// MarshalJSON writes them as an object, its members in their order.
func (p Properties) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, one := range p {
		name, err := json.Marshal(one.Name)
		if err != nil {
			return nil, err
		}
		body, err := json.Marshal(one.Schema)
		if err != nil {
			return nil, err
		}
		if i > 0 {
			b.WriteByte(',')
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(body)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// FileName is what the schema of a kind is called as a file.
func FileName(kind library.Kind) string { return string(kind) + ".schema.json" }

// Of makes the schema of the documents of a kind. With names it takes those of one aircraft alone; nil is any.
func Of(kind library.Kind, names *Names) (*Schema, error) {
	root := library.Root(kind)
	if root == nil {
		return nil, fmt.Errorf("there is no kind of document %q", kind)
	}
	m := &maker{names: names, made: map[string]bool{}}
	var s *Schema
	if kind == library.Profile {
		s = m.profile(root)
	} else {
		s = m.group(root)
	}
	s.Dialect, s.ID, s.Title = Dialect, FileName(kind), titleOf(kind)
	s.Description = about[kind]
	s.Comment = "Not all that can be wrong can be said by a schema: hornlark check tells the rest."
	if names != nil {
		s.Title += " for " + names.Profile.Title
	}
	s.Defs = m.defs
	return s, nil
}

// about is what documents of each kind are.
var about = map[library.Kind]string{
	library.Profile:   "One fictional aircraft: its controls, gauges, captions and alerts, the figures of its model, and what it is expected to do.",
	library.Procedure: "A flow for one profile: phases of items, in order.",
	library.Scenario:  "One exercise: a procedure, the way of going through it, the weather, what interrupts it, and what has to be reached.",
	library.Abnormal:  "Something that goes wrong, or only seems to: its cause, what shows it, and what is to be done.",
	library.Answers:   "A trainee on paper: what is pressed, in answer to what.",
	library.Criteria:  "What an instructor wants to have seen before somebody counts as ready.",
}

func titleOf(kind library.Kind) string { return strings.ToUpper(string(kind[:1])) + string(kind[1:]) }

// maker makes one schema.
type maker struct {
	names *Names
	part  bool            // it is for what is laid over something, and need not be whole
	made  map[string]bool // names of what is in defs, or on its way there
	defs  Properties
}

// profile is the schema of a profile, which is either whole or laid over another one.
func (m *maker) profile(root reflect.Type) *Schema {
	whole := m.ref(root)
	m.part = true
	over := m.ref(root)
	m.part = false
	return &Schema{Type: "object", If: &Schema{Required: []string{"based_on"}}, Then: over, Else: whole}
}

// group is the schema of a struct: its fields, which of them it needs, and what is true of several.
func (m *maker) group(t reflect.Type) *Schema {
	s := &Schema{Type: "object", Others: false}
	for i := range t.NumField() {
		f := t.Field(i)
		about, ok := library.FieldOf(t, f)
		if !ok {
			continue
		}
		about.Needed = about.Needed || alsoNeeded[t.String()+"."+f.Name]
		s.Properties = append(s.Properties, Property{about.Path, m.field(f, &about)})
		if needs(f, &about) && (!m.part || about.Path == library.KeyOf(t) || t == library.Root(library.Profile) && (about.Path == "name" || about.Path == "title")) {
			s.Required = append(s.Required, about.Path)
		}
	}
	for _, rule := range rules[t] {
		if m.part && t != library.Root(library.Profile) {
			break // what makes it whole may stand in what it is laid over
		}
		s.AllOf = append(s.AllOf, rule(t)...)
	}
	return s
}

// needs reports whether a group has to have a field: it is needed itself, or it is a group with something in it that is.
func needs(f reflect.StructField, about *library.Field) bool {
	if about.Needed {
		return true
	}
	if f.Type.Kind() != reflect.Struct {
		return false
	}
	for i := range f.Type.NumField() {
		inner := f.Type.Field(i)
		if about, ok := library.FieldOf(f.Type, inner); ok && needs(inner, &about) {
			return true
		}
	}
	return false
}

// ref is the schema of a struct among the definitions, by its name: no kind of document has two of one name.
func (m *maker) ref(t reflect.Type) *Schema {
	name := t.Name()
	if m.part {
		name += "-part"
	}
	return m.define(name, func() *Schema { return m.group(t) })
}

// define puts a schema among the definitions, once, and refers to it.
func (m *maker) define(name string, make func() *Schema) *Schema {
	if !m.made[name] {
		m.made[name] = true
		at := len(m.defs)
		m.defs = append(m.defs, Property{Name: name})
		m.defs[at].Schema = make()
	}
	return &Schema{Ref: "#/$defs/" + name}
}
