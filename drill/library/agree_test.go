package library_test

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"gopkg.in/yaml.v3"

	"hornlark/drill/aircraft"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
)

// mutant is a way of writing a field wrongly: instead of its value, or in place of it and its name.
type mutant struct {
	what  string
	value *yaml.Node // nil: the field is left out
}

func scalar(text string, style yaml.Style) *yaml.Node {
	n := &yaml.Node{Kind: yaml.ScalarNode, Value: text, Style: style}
	if style == 0 {
		var parsed yaml.Node
		if err := yaml.Unmarshal([]byte(text), &parsed); err == nil && len(parsed.Content) == 1 && parsed.Content[0].Kind == yaml.ScalarNode {
			n.Tag = parsed.Content[0].Tag
		}
	} else {
		n.Tag = "!!str"
	}
	return n
}

func plain(text string) *yaml.Node  { return scalar(text, 0) }
func quoted(text string) *yaml.Node { return scalar(text, yaml.DoubleQuotedStyle) }

func list(elements ...*yaml.Node) *yaml.Node {
	return &yaml.Node{Kind: yaml.SequenceNode, Tag: "!!seq", Content: elements}
}

func group(content ...*yaml.Node) *yaml.Node {
	return &yaml.Node{Kind: yaml.MappingNode, Tag: "!!map", Content: content}
}

// mutantsOf are the ways of writing a field wrongly, or not wrongly after all: who says so is the loader.
func mutantsOf(i *library.Instance) []mutant {
	t := i.Field.Type
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	about, _ := library.FieldOf(reflect.StructOf(nil), i.Field)
	was := i.In.Content[i.At+1]
	low, high, ranged := strings.Cut(about.Range, "..")
	least, most, sized := strings.Cut(about.Size, "..")
	all := []mutant{{"left out", nil}, {"null", plain("null")}}
	switch {
	case t == reflect.TypeFor[time.Duration]():
		all = append(all, mutant{"a list", list()}, mutant{"no unit", plain("5")}, mutant{"negative", plain("-5s")}, mutant{"a word", plain("soon")},
			mutant{"in parts", plain("0m1.5s")}, mutant{"a day too long", plain("25h")})
		if ranged {
			all = append(all, mutant{"the least", plain(low)}, mutant{"the most", plain(high)})
		}
	case t == reflect.TypeFor[aircraft.Settings]():
		all = append(all, mutant{"a list", list()}, mutant{"nothing in it", group()}, mutant{"text", plain("battery")},
			mutant{"no such control", group(plain("Not-one"), plain("on"))}, mutant{"a list for a position", group(plain("battery"), list())},
			mutant{"nothing for a position", group(plain("battery"), plain("~"))}, mutant{"unknown control", group(plain("nothing_such"), plain("on"))})
	case t.Kind() == reflect.Struct || t.Kind() == reflect.Map:
		all = append(all, mutant{"a list", list(group())}, mutant{"text", plain("x")}, mutant{"nothing in it", group()},
			mutant{"what is unknown", group(append(slices.Clone(was.Content), plain("no_such"), plain("1"))...)},
			mutant{"a name of capitals", group(append(slices.Clone(was.Content), plain("NO SUCH"), plain("1"))...)})
	case t.Kind() == reflect.Slice:
		all = append(all, mutant{"a group", group()}, mutant{"text", plain("x")}, mutant{"empty", list()}, mutant{"a list in it", list(append(slices.Clone(was.Content), list())...)},
			mutant{"a number in it", list(append(slices.Clone(was.Content), plain("7"))...)})
		if len(was.Content) > 0 {
			first := was.Content[0]
			all = append(all, mutant{"something twice", list(append(slices.Clone(was.Content), first)...)}, mutant{"one alone", list(first)})
			if n := number(most); sized && n < 100 {
				all = append(all, mutant{"too many", list(slices.Repeat([]*yaml.Node{first}, n+1)...)})
			}
		}
	case t.Kind() == reflect.Bool:
		all = append(all, mutant{"yes", plain("yes")}, mutant{"in quotes", quoted("true")}, mutant{"True", plain("True")}, mutant{"a number", plain("1")}, mutant{"the other", plain(fmt.Sprint(was.Value != "true"))},
			mutant{"a list", list()})
	case t.Kind() == reflect.String:
		all = append(all, mutant{"a list", list(plain("x"))}, mutant{"a group", group()}, mutant{"empty", quoted("")}, mutant{"blank", quoted("   ")},
			mutant{"two lines", quoted("one\ntwo")}, mutant{"hidden", quoted("a\u202eb")}, mutant{"no such name", plain("nothing_such")}, mutant{"no name", plain("Not a Name!")}, mutant{"a number", plain("7")},
			mutant{"too long", plain(strings.Repeat("a", 130))}, mutant{"much too long", plain(strings.Repeat("b ", 2100))}, mutant{"true", plain("true")})
		if n := number(most); sized {
			all = append(all, mutant{"just fitting", plain(strings.Repeat("m", n))}, mutant{"just too long", plain(strings.Repeat("m", n+1))})
		}
		for _, other := range about.Values {
			all = append(all, mutant{other, plain(other)})
		}
	default:
		all = append(all, mutant{"a list", list()}, mutant{"in quotes", quoted("7")}, mutant{"a word", plain("seven")}, mutant{"with a unit", plain("7 s")}, mutant{"far below", plain("-1000000000")},
			mutant{"far above", plain("1000000000")}, mutant{"none", plain("0")}, mutant{"a part", plain("1.25")}, mutant{"sixteen", plain("0x10")})
		if ranged {
			all = append(all, mutant{"the least", plain(low)}, mutant{"the most", plain(high)})
		}
	}
	_ = least
	return all
}

func number(digits string) (n int) {
	fmt.Sscan(digits, &n)
	return n
}

// Every field of every kind of document, written in some ten ways: what its schema refuses the loader refuses, and the other way round but
// for what is beyond a schema.
func TestSchemaAndLoaderAgree(t *testing.T) {
	j := newJudges(t)
	n := 0
	library.EveryInstance(t, j.lib, func(i library.Instance) {
		content := i.In.Content
		for _, m := range mutantsOf(&i) {
			if n++; n%mutantsShare != 0 && !everything() {
				continue
			}
			if m.value == nil {
				i.In.Content = slices.Concat(content[:i.At], content[i.At+2:])
			} else {
				i.In.Content = slices.Clone(content)
				i.In.Content[i.At+1] = m.value
			}
			j.ask(i.Kind, i.Root, i.Path+": "+m.what)
			i.In.Content = content
		}
	})
	j.told(4000, "references", "doubles", "neighbours", "conditions", "times", "figures", "overlays", "spelling")
}

// Fields beside one another: to every group of the samples each field is added that it does not have, and each word that can stand in a field
// is written there. What is true of several fields together, the schema says as the loader does.
func TestSchemaAndLoaderAgreeOnAlternatives(t *testing.T) {
	j := newJudges(t)
	values := map[string]*yaml.Node{} // of each field, one
	library.EveryInstance(t, j.lib, func(i library.Instance) { values[i.Key] = i.In.Content[i.At+1] })
	seen := map[string]bool{}
	n := 0
	texts := library.Samples(t)
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		kind, root, ok := library.Parsed([]byte(texts[name]))
		if !ok {
			t.Fatal(name)
		}
		library.GroupsOf(kind, root, func(of reflect.Type, in *yaml.Node) {
			var present []string
			for i := 0; i < len(in.Content); i += 2 {
				present = append(present, in.Content[i].Value)
			}
			slices.Sort(present)
			if signature := of.String() + fmt.Sprint(present); seen[signature] {
				return
			} else {
				seen[signature] = true
			}
			content := in.Content
			for i := range of.NumField() {
				about, ok := library.FieldOf(of, of.Field(i))
				value := values[of.String()+"."+of.Field(i).Name]
				if !ok || value == nil {
					continue
				}
				if of.Field(i).Tag.Get("is") == "own-item" {
					value = lastItem(root)
				}
				try := func(what string, changed []*yaml.Node) {
					if n++; n%mutantsShare == 0 || everything() {
						in.Content = changed
						j.ask(kind, root, fmt.Sprintf("%s, a %s with %v: %s", name, of, present, what))
						in.Content = content
					}
				}
				at := 2 * slices.IndexFunc(present, func(p string) bool { return p == about.Path })
				if at < 0 {
					try("and "+about.Path, append(slices.Clone(content), plain(about.Path), value))
					continue
				}
				for k := 0; k < len(content); k += 2 {
					if content[k].Value == about.Path {
						for _, word := range about.Values {
							changed := slices.Clone(content)
							changed[k+1] = plain(word)
							try(about.Path+" "+word, changed)
						}
					}
				}
			}
		})
	}
	j.told(1000)
}

// lastItem is the id of the last item of a procedure.
func lastItem(root *yaml.Node) *yaml.Node {
	last := plain("none")
	library.GroupsOf(library.Procedure, root, func(of reflect.Type, in *yaml.Node) {
		for i := 0; i+1 < len(in.Content); i += 2 {
			if of == reflect.TypeFor[procedure.Item]() && in.Content[i].Value == "id" {
				last = in.Content[i+1]
			}
		}
	})
	return last
}
