package schema

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/datasheet"
	"hornlark/drill/library"
)

// The types of JSON that a text of a document can be: on, 7 and true are taken as they are written.
var anyText = []string{"string", "number", "boolean"}

// most is how much of something there may be.
func most(n int) *int { return &n }

// field is the schema of a field of a group.
func (m *maker) field(f reflect.StructField, about *library.Field) *Schema {
	s := m.value(f.Type, f.Tag, about)
	s.Description = described(f, about)
	if d := about.Default; d != "" {
		if _, err := time.ParseDuration(d); err == nil {
			s.Default = d
		}
	}
	if about.Example != "" {
		if value, err := exampleOf(about.Example, f.Type); err == nil {
			s.Examples = []any{value}
		}
	}
	return s
}

// described is what is said of a field: what it is for, and what a schema has no words for.
func described(f reflect.StructField, about *library.Field) string {
	text := about.About
	if low, high, ok := strings.Cut(about.Range, ".."); ok && timed(f.Type) {
		text += fmt.Sprintf(" From %s to %s.", low, high)
	}
	if d := about.Default; d != "" {
		if _, err := time.ParseDuration(d); err != nil {
			text += " Left out: " + d + "."
		}
	}
	if is := sortOf(f.Tag); is.Words != "" {
		text += " " + is.Words
	}
	return text
}

// timed reports whether a type is a time, or a pointer to one.
func timed(t reflect.Type) bool {
	return t == reflect.TypeFor[time.Duration]() || t.Kind() == reflect.Pointer && timed(t.Elem())
}

// value is the schema of a type with the tags of its field.
func (m *maker) value(t reflect.Type, tag reflect.StructTag, about *library.Field) *Schema {
	switch t {
	case reflect.TypeFor[time.Duration]():
		return m.define("time", aTime)
	case reflect.TypeFor[aircraft.Settings]():
		return m.settings(about)
	case reflect.TypeFor[aircraft.Curve]():
		return curve(about)
	}
	switch t.Kind() {
	case reflect.Pointer:
		return m.value(t.Elem(), tag, about)
	case reflect.Struct:
		return m.ref(t)
	case reflect.Map:
		return m.byName(t, tag, about)
	case reflect.Slice:
		return m.list(t, tag, about)
	case reflect.Bool:
		return &Schema{Type: "boolean"}
	case reflect.String:
		return m.text(tag, about)
	}
	return figure(t, tag, about)
}

// timeForm is how a time is written: figures with units, one after the other.
const timeForm = `\+?(([0-9]+\.?[0-9]*|\.[0-9]+)(ns|us|µs|μs|ms|s|m|h))+`

func aTime() *Schema { return &Schema{Type: "string", Pattern: "^" + timeForm + "$"} }

// figure is the schema of a number.
func figure(t reflect.Type, tag reflect.StructTag, about *library.Field) *Schema {
	s := &Schema{Type: "number"}
	switch t.Kind() {
	case reflect.Int:
		s.Type, s.Minimum, s.Maximum = "integer", json.Number(strconv.Itoa(-1<<31)), json.Number(strconv.Itoa(1<<31-1))
	case reflect.Uint64:
		s.Type, s.Minimum, s.Maximum = "integer", "0", json.Number(strconv.FormatUint(1<<64-1, 10))
	}
	if low, high, ok := strings.Cut(about.Range, ".."); ok {
		s.Minimum, s.Maximum = json.Number(low), json.Number(high)
	}
	if tag.Get("is") == "severity" {
		s.Minimum, s.Above, s.Maximum = "", "0", "1"
	}
	return s
}

// curve is the schema of points from left to right.
func curve(about *library.Field) *Schema {
	low, high, _ := strings.Cut(about.Range, "..")
	x := &Schema{Type: "number", Description: "Where, from left to right."}
	y := &Schema{Type: "number", Minimum: json.Number(low), Maximum: json.Number(high), Description: "The value there."}
	s := &Schema{Type: "array", Items: &Schema{Type: "array", Prefix: []*Schema{x, y}, Items: false, MinItems: 2}}
	s.MinItems, s.MaxItems = 1, most(aircraft.MaxPoints)
	if !about.Needed {
		s.MinItems = 0
		x.Minimum, x.Maximum = "0", datasheet.LongestFigure
	}
	return s
}

// size is the least and the most that a field says of itself; most is 0 where it says nothing.
func size(about *library.Field) (least, most int) {
	low, high, _ := strings.Cut(about.Size, "..")
	least, _ = strconv.Atoi(low)
	most, _ = strconv.Atoi(high)
	return least, most
}

// list is the schema of a list. One that is needed has something in it.
func (m *maker) list(t reflect.Type, tag reflect.StructTag, about *library.Field) *Schema {
	element := *about
	element.Needed, element.Size = true, ""
	if m.part {
		if !library.Laid(t) { // as a whole
			m.part = false
			defer func() { m.part = true }()
		} else {
			lain := *about
			lain.Needed = false
			about = &lain
		}
	}
	s := &Schema{Type: "array", Items: m.value(t.Elem(), tag, &element), Unique: sortOf(tag).once}
	if inner := t.Elem(); inner.Kind() == reflect.Slice && inner.Elem().Kind() == reflect.String {
		pair := s.Items.(*Schema)
		pair.MinItems, pair.MaxItems = 2, most(2)
	}
	if least, n := size(about); n > 0 {
		s.MaxItems = most(n)
		if tag.Get("is") == "label,once" {
			element.Size = "1..12" // of what is listed
			s.Items = m.text(tag, &element)
		}
		switch {
		case about.Needed:
			s.MinItems = max(1, least)
		case least > 1:
			s.AnyOf = []*Schema{{MaxItems: most(0)}, {MinItems: least}}
		}
	} else if about.Needed {
		s.MinItems = 1
	}
	return s
}

// byName is the schema of a mapping whose names are free.
func (m *maker) byName(t reflect.Type, tag reflect.StructTag, about *library.Field) *Schema {
	element := *about
	element.Size = ""
	s := &Schema{Type: "object", Others: m.value(t.Elem(), "", &element), Names: m.nameText(tag.Get("is"))}
	_, s.MaxNames = size(about)
	return s
}

// settings is the schema of controls and positions.
func (m *maker) settings(about *library.Field) *Schema {
	name := "settings"
	if about.Needed {
		name += "-needed"
	}
	_, n := size(about)
	if n > 0 {
		name += "-" + strconv.Itoa(n)
	}
	return m.define(name, func() *Schema {
		s := &Schema{Type: "object", MaxNames: n, Names: &Schema{Pattern: aircraft.IDForm}, Others: &Schema{Type: anyText, MinLength: 1}}
		if about.Needed {
			s.MinNames = 1
		}
		if m.names != nil {
			s.Names, s.Others, s.Properties = nil, false, m.names.controls()
		}
		return s
	})
}

// text is the schema of a text: of the words that it can be, where they are few, of its form, and of the names that an aircraft has.
func (m *maker) text(tag reflect.StructTag, about *library.Field) *Schema {
	is := sortOf(tag)
	words := about.Values
	if m.names != nil && is.names != nil {
		words = is.names(m.names)
	}
	if is.words != nil {
		words = is.words()
	}
	s := &Schema{Type: is.types}
	switch {
	case words != nil:
		s.Type, s.Enum = nil, asWritten(words)
		if !about.Needed {
			s.Enum = append(s.Enum, "")
		}
		return s
	case is.form != "" && about.Needed:
		s.Pattern = is.form
	case is.left != "":
		s.Pattern = is.left
	case is.form != "":
		s.Pattern = "^$|" + is.form
	}
	if is.not != nil {
		s.Not = &Schema{Enum: texts(is.not())}
	}
	s.MaxLength = is.longest
	if least, n := size(about); n > 0 {
		s.MaxLength = n
		if about.Needed {
			s.MinLength = least
		}
	}
	if s.MaxLength == 0 && s.Pattern == "" {
		s.MaxLength = library.MaxText
	}
	if about.Needed && is.form == "" {
		s.MinLength = max(1, s.MinLength)
	}
	return s
}

// nameText is the schema of the names of a mapping, by their sort.
func (m *maker) nameText(is string) *Schema {
	sort := sorts[is]
	if m.names != nil && sort.names != nil {
		return &Schema{Enum: texts(sort.names(m.names))}
	}
	return &Schema{Pattern: sort.form}
}

// texts are words as values.
func texts(words []string) []any {
	list := make([]any, len(words))
	for i, word := range words {
		list[i] = word
	}
	return list
}

// asWritten are words as values, and what an editor makes of those that it takes for something else when they are in no quotes.
func asWritten(words []string) []any {
	list := texts(words)
	for _, word := range words {
		if x, err := strconv.ParseFloat(word, 64); err == nil {
			list = append(list, json.Number(strconv.FormatFloat(x, 'f', -1, 64)))
		}
		if word == "true" || word == "false" {
			list = append(list, word == "true")
		}
	}
	return slices.Clip(list)
}
