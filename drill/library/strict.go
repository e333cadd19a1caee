package library

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"hornlark/drill/aircraft"
	"hornlark/drill/fault"
)

// The bounds of a value.
const (
	MaxText     = 4000           // characters of a text
	MaxDuration = 24 * time.Hour // of a time
)

// decode fills the struct that v points to from the document, by the yaml tags of its fields. It takes nothing that is
// not written as it should be: no unknown field, none given twice, no number for a text or text for a number, no time
// without its unit. It goes on after a problem, to find them all.
func (d *document) decode(v any) Problems {
	dec := decoder{doc: d}
	dec.value(d.root, reflect.ValueOf(v).Elem(), "")
	dec.problems.sort()
	return dec.problems
}

type decoder struct {
	doc      *document
	problems Problems
	refused  *yaml.Node // the latest about which there was something to say
}

func (d *decoder) refuse(n *yaml.Node, remedy, problem string, args ...any) {
	d.refused = n
	if len(d.problems) >= mostCollected {
		return
	}
	home := d.doc.home(n)
	p := Problem{home.file, n.Line, n.Column, fmt.Sprintf(problem, args...), remedy}
	if p, own := d.doc.takenOver(p, "", home); own {
		d.problems = append(d.problems, p)
	}
}

var (
	durationType = reflect.TypeFor[time.Duration]()
	settingsType = reflect.TypeFor[aircraft.Settings]()
)

// value takes what a node says into v, and remembers where the path stands, and whether it could not be taken.
func (d *decoder) value(n *yaml.Node, v reflect.Value, path string) {
	if d.doc.places[path] == nil {
		d.doc.places[path] = n
	}
	defer func() {
		if d.refused == n {
			d.doc.spoilt[path] = true
		}
	}()
	switch {
	case v.Type() == durationType:
		d.duration(n, v)
		return
	case v.Type() == settingsType:
		d.settings(n, v, path)
		return
	case v.Kind() == reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		d.value(n, v.Elem(), path)
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		d.fields(n, v, path)
	case reflect.Map:
		d.entries(n, v, path)
	case reflect.Slice, reflect.Array:
		d.elements(n, v, path)
	case reflect.String:
		d.text(n, v)
	case reflect.Bool:
		d.truth(n, v)
	case reflect.Float64:
		d.number(n, v)
	case reflect.Int:
		d.whole(n, v)
	case reflect.Uint64:
		d.natural(n, v)
	default:
		panic("library: no document may hold a " + v.Type().String())
	}
}

// each calls f for every name of a mapping, once.
func (d *decoder) each(n *yaml.Node, remedy string, f func(key, value *yaml.Node)) {
	if n.Kind != yaml.MappingNode {
		d.refuse(n, remedy, "a group of fields is wanted here, not %s", found(n))
		return
	}
	seen := map[string]*yaml.Node{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		switch first := seen[key.Value]; {
		case key.Kind != yaml.ScalarNode:
			d.refuse(key, "write a name and a colon", "a name is wanted here, not %s", found(key))
		case key.Tag == "!!merge":
			d.refuse(key, "write the fields out", "fields cannot be merged with <<")
		case first != nil:
			d.refuse(key, "keep one of them", "%s has been given already, in line %d", found(key), first.Line)
		default:
			seen[key.Value] = key
			f(key, value)
		}
	}
}

func (d *decoder) fields(n *yaml.Node, v reflect.Value, path string) {
	byName, names := fieldsOf(v.Type())
	d.each(n, "write "+example(names), func(key, value *yaml.Node) {
		index, ok := byName[key.Value]
		if !ok {
			d.refuse(key, fault.Suggest(key.Value, names), "there is no field %s here", found(key))
			// What is in it is looked at as if it had the name that is suggested, so that this is told in one go.
			meant := fault.Nearest(key.Value, names)
			if index, ok = byName[meant]; !ok || d.doc.has(fault.Join(path, meant)) || given(n, meant) {
				return
			}
			d.value(value, v.Field(index), fault.Join(path, meant))
			return
		}
		d.value(value, v.Field(index), fault.Join(path, key.Value))
	})
}

// given reports whether a mapping has a name.
func given(n *yaml.Node, name string) bool {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == name {
			return true
		}
	}
	return false
}

// fieldsOf gives the fields of a struct by their names in a document, and the names in order. A field without a yaml tag
// is none.
func fieldsOf(t reflect.Type) (byName map[string]int, names []string) {
	if known, ok := fieldsKnown.Load(t); ok {
		f := known.(*fieldNames)
		return f.byName, f.names
	}
	byName = map[string]int{}
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("yaml"), ",")
		if name != "" && name != "-" {
			byName[name] = i
			names = append(names, name)
		}
	}
	names = slices.Clip(names)
	fieldsKnown.Store(t, &fieldNames{byName, names})
	return byName, names
}

// fieldsKnown has the fields of each type of struct that has been met: there are few, and they are met in every document. They are only
// to be read.
var fieldsKnown sync.Map

type fieldNames struct {
	byName map[string]int
	names  []string
}

// example shows how some fields are written.
func example(names []string) string {
	if len(names) > 1 {
		return fmt.Sprintf("them as in {%s: …, %s: …}", names[0], names[1])
	}
	return fmt.Sprintf("it as in {%s: …}", names[0])
}

// entries takes a mapping whose names are free. What is wrong with an entry may be its name as well as its value, so its
// place is where it begins.
func (d *decoder) entries(n *yaml.Node, v reflect.Value, path string) {
	v.Set(reflect.MakeMap(v.Type()))
	d.each(n, `write them as in {battery: "on"}`, func(key, value *yaml.Node) {
		d.doc.places[fault.Join(path, key.Value)] = key
		element := reflect.New(v.Type().Elem()).Elem()
		d.value(value, element, fault.Join(path, key.Value))
		v.SetMapIndex(reflect.ValueOf(key.Value).Convert(v.Type().Key()), element)
	})
}

// settings takes controls and their positions in the order in which they are written. The place of one is where it begins.
func (d *decoder) settings(n *yaml.Node, v reflect.Value, path string) {
	var all aircraft.Settings
	d.each(n, `write them as in {battery: "on"}`, func(key, value *yaml.Node) {
		d.doc.places[fault.Join(path, key.Value)] = key
		one := aircraft.Setting{Control: key.Value}
		d.value(value, reflect.ValueOf(&one.Position).Elem(), fault.Join(path, key.Value))
		all = append(all, one)
	})
	v.Set(reflect.ValueOf(all))
}

func (d *decoder) elements(n *yaml.Node, v reflect.Value, path string) {
	if n.Kind != yaml.SequenceNode {
		remedy := "write [a, b], or a line with a dash for each"
		if n.Kind == yaml.ScalarNode && !empty(n) {
			remedy = fmt.Sprintf("write [%s]", n.Value)
		}
		d.refuse(n, remedy, "a list is wanted here, not %s", found(n))
		return
	}
	if v.Kind() == reflect.Slice {
		v.Set(reflect.MakeSlice(v.Type(), len(n.Content), len(n.Content)))
	} else if len(n.Content) != v.Len() {
		d.refuse(n, fmt.Sprintf("write %d", v.Len()), "%d values stand here", len(n.Content))
		return
	}
	for i, element := range n.Content {
		d.value(element, v.Index(i), fault.At(path, i))
	}
}

// scalar reports whether a single value stands here, and says what is wanted if not.
func (d *decoder) scalar(n *yaml.Node, wanted, remedy string) bool {
	if n.Kind == yaml.ScalarNode && !empty(n) {
		return true
	}
	d.refuse(n, remedy, "%s is wanted here, not %s", wanted, found(n))
	return false
}

// text takes a text as it was written: on, 7 and 1.50 too, which other readers of YAML would take for something else.
func (d *decoder) text(n *yaml.Node, v reflect.Value) {
	if !d.scalar(n, "a text", "write one, or leave the field out") {
		return
	}
	switch length := utf8.RuneCountInString(n.Value); {
	case length > MaxText:
		d.refuse(n, fmt.Sprintf("stay within %d characters", MaxText), "the text has %d", length)
	case strings.ContainsFunc(n.Value, func(r rune) bool { return unreadable(r) && r != '\n' }):
		d.refuse(n, "leave it out", "there is a character in the text that cannot be shown")
	default:
		v.SetString(n.Value)
	}
}

func (d *decoder) truth(n *yaml.Node, v reflect.Value) {
	const remedy = "write true or false"
	if !d.scalar(n, "true or false", remedy) {
		return
	}
	if n.Style != 0 || n.Value != "true" && n.Value != "false" {
		d.refuse(n, remedy, "%s is neither true nor false", quotedOr(n))
		return
	}
	v.SetBool(n.Value == "true")
}

// quotedOr names a value, and says so if it is in quotes.
func quotedOr(n *yaml.Node) string {
	if n.Style != 0 {
		return fmt.Sprintf("the text %s", found(n))
	}
	return found(n)
}

var (
	decimal  = regexp.MustCompile(`^[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?$`)
	leading  = regexp.MustCompile(`^[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)`)
	integral = regexp.MustCompile(`^[-+]?[0-9]+$`)
)

func (d *decoder) number(n *yaml.Node, v reflect.Value) {
	const remedy = "write one like 12 or 0.5, without a unit"
	if !d.scalar(n, "a number", remedy) {
		return
	}
	if n.Style != 0 || !decimal.MatchString(n.Value) {
		d.refuse(n, remedy, "%s is not a number", quotedOr(n))
		if meant, err := strconv.ParseFloat(leading.FindString(n.Value), 64); err == nil {
			v.SetFloat(meant) // so that nothing untrue is said of what is measured against it
		}
		return
	}
	x, err := strconv.ParseFloat(n.Value, 64)
	if err != nil {
		d.refuse(n, "write a smaller one", "the number %s is too large", found(n))
		return
	}
	v.SetFloat(x)
}

func (d *decoder) whole(n *yaml.Node, v reflect.Value) {
	if !d.integer(n, "write one like 3") {
		return
	}
	x, err := strconv.ParseInt(n.Value, 10, 32)
	if err != nil {
		d.refuse(n, "write a smaller one", "the number %s is too large", found(n))
		return
	}
	v.SetInt(x)
}

func (d *decoder) natural(n *yaml.Node, v reflect.Value) {
	const remedy = "write one from 0 to 18446744073709551615"
	if !d.integer(n, remedy) {
		return
	}
	x, err := strconv.ParseUint(strings.TrimPrefix(n.Value, "+"), 10, 64)
	if err != nil {
		d.refuse(n, remedy, "the number %s is out of range", found(n))
		return
	}
	v.SetUint(x)
}

func (d *decoder) integer(n *yaml.Node, remedy string) bool {
	if !d.scalar(n, "a whole number", remedy) {
		return false
	}
	if n.Style != 0 || !integral.MatchString(n.Value) {
		d.refuse(n, remedy, "%s is not a whole number", quotedOr(n))
		return false
	}
	return true
}

func (d *decoder) duration(n *yaml.Node, v reflect.Value) {
	const remedy = "write it as in 1.5s, 500ms or 1m30s"
	if !d.scalar(n, "a time", remedy) {
		return
	}
	if decimal.MatchString(n.Value) {
		d.refuse(n, fmt.Sprintf("write %[1]ss for seconds, or %[1]sm for minutes", n.Value), "the time %s has no unit", found(n))
		if meant, err := time.ParseDuration(n.Value + "s"); err == nil && meant >= 0 && meant <= MaxDuration {
			v.SetInt(int64(meant))
		}
		return
	}
	x, err := time.ParseDuration(n.Value)
	switch {
	case err != nil:
		d.refuse(n, remedy, "%s is not a time", found(n))
	case strings.HasPrefix(n.Value, "-"):
		d.refuse(n, "leave the sign out", "the time %s is negative", found(n))
	case x > MaxDuration:
		d.refuse(n, fmt.Sprintf("stay within %v", MaxDuration), "the time %s is too long", found(n))
	default:
		v.SetInt(int64(x))
	}
}
