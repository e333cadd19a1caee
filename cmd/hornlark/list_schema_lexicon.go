package main

import (
	"reflect"
	"strings"

	"hornlark/audio/form"
	"hornlark/audio/voice"
	"hornlark/drill/library/schema"
)

// lexiconSchema is what the schema of how words are spoken is asked for by. It is no kind of document of the library, which knows nothing
// of what is heard.
const lexiconSchema = "lexicon"

// schemaOfLexicon makes the schema of a lexicon of what reads one.
func schemaOfLexicon() *schema.Schema {
	s := &schema.Schema{
		Dialect: schema.Dialect, ID: lexiconSchema + ".schema.json", Title: "Lexicon",
		Description: "How written words are spoken: laid over what is built in, where a word that stands in both is spoken as this file says.",
		Comment:     "Not all that can be wrong can be said by a schema: hornlark check tells the rest.",
		Type:        []string{"object", "null"}, Others: false,
	}
	for _, f := range voice.LexiconForm() {
		field := heardAs(f.Type)
		field.Description = strings.ToUpper(f.About[:1]) + f.About[1:] + "."
		if f.Size > 0 {
			field.MinItems, field.MaxItems = f.Size, &f.Size
		}
		s.Properties = append(s.Properties, schema.Property{Name: f.Name, Schema: field})
	}
	return s
}

// heardAs is what YAML gives a value of a type by: nothing is as good as what is not written, and a word that looks like a figure is a word.
func heardAs(t reflect.Type) *schema.Schema {
	many := form.MaxEntries
	switch t.Kind() {
	case reflect.Map:
		return &schema.Schema{Type: []string{"object", "null"}, MaxNames: many, Others: heardAs(t.Elem())}
	case reflect.Slice:
		many *= 2
		return &schema.Schema{Type: []string{"array", "null"}, MaxItems: &many, Items: inAList(heardAs(t.Elem()))}
	case reflect.Array:
		size := t.Len()
		return &schema.Schema{Type: []string{"array", "null"}, MinItems: size, MaxItems: &size, Items: inAList(heardAs(t.Elem()))}
	}
	return &schema.Schema{Type: []string{"string", "number", "boolean", "null"}}
}

// inAList is the same of what cannot be left out.
func inAList(s *schema.Schema) *schema.Schema {
	if types, ok := s.Type.([]string); ok {
		s.Type = types[:len(types)-1]
	}
	return s
}
