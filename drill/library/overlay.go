package library

import (
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"hornlark/drill/aircraft"
	"hornlark/drill/fault"
)

// MaxBased is how many profiles may lie under one another.
const MaxBased = 8

// The fields by which a profile refers to another one, and those that no profile takes over from it.
const (
	basedOn  = "based_on"
	leaveOut = "leave_out"
)

var notTakenOver = []string{"name", "title", basedOn, leaveOut, "like"}

// base finds where a document says over which profile it is laid; nil if it is not. A slip in the field's name is told of as it is read.
func (d *document) base() *yaml.Node {
	if at := field(d.root, basedOn); at != nil {
		return at
	}
	_, names := fieldsOf(reflect.TypeFor[aircraft.Profile]())
	for i := 0; i+1 < len(d.root.Content); i += 2 {
		if key := d.root.Content[i].Value; !slices.Contains(names, key) && fault.Nearest(key, names) == basedOn {
			return d.root.Content[i+1]
		}
	}
	return nil
}

// field finds the value of a field of a mapping.
func field(n *yaml.Node, name string) *yaml.Node {
	if n.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == name {
			return n.Content[i+1]
		}
	}
	return nil
}

// layOver makes of a document that says what differs from a profile the whole of one. What was taken over keeps its place in the file
// that it stands in.
func (d *document) layOver(under *document, name string) Problems {
	o := overlay{doc: d, name: name}
	d.under, d.homes = under, map[*yaml.Node]*document{}
	o.settle(under, under.root)
	stated := slices.DeleteFunc(fieldNamesOf(d.root), func(f string) bool {
		return slices.Contains(notTakenOver, f) || f == "about" || f == "by"
	})
	bare := o.without(under.root)
	whole := o.merge(bare, d.root, reflect.TypeFor[aircraft.Profile](), "")
	if len(o.problems) == 0 && (len(stated) == 0 || alike(kept(whole), kept(bare))) && bare == under.root {
		at := d.base()
		o.refuse(at, fmt.Sprintf("write what differs, as captions: [{id: %s, text: …}], or use %s as it is", orElse(o.anyOf(under.root, "captions"), "door"), name),
			"nothing of %s is changed", name)
	}
	d.root = whole
	return o.problems
}

// overlay is one profile being laid over another.
type overlay struct {
	doc      *document
	name     string // of what lies under it
	problems Problems
}

func (o *overlay) refuse(n *yaml.Node, remedy, problem string, args ...any) {
	o.problems = append(o.problems, Problem{o.doc.file, n.Line, n.Column, fmt.Sprintf(problem, args...), remedy})
}

// settle notes for everything that lies under it in which file it stands.
func (o *overlay) settle(under *document, n *yaml.Node) {
	o.doc.homes[n] = under.home(n)
	for _, child := range n.Content {
		o.settle(under, child)
	}
}

// home is the document in whose file a node stands.
func (d *document) home(n *yaml.Node) *document {
	if at, elsewhere := d.homes[n]; elsewhere {
		return at
	}
	return d
}

func fieldNamesOf(n *yaml.Node) (names []string) {
	for i := 0; i+1 < len(n.Content); i += 2 {
		names = append(names, n.Content[i].Value)
	}
	return names
}

// anyOf is the id of some element of a list.
func (o *overlay) anyOf(root *yaml.Node, list string) string {
	if at := field(root, list); at != nil && len(at.Content) > 0 {
		return idOf(at.Content[0], "id")
	}
	return ""
}

func orElse(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}

// kept is a profile without what every profile says for itself.
func kept(root *yaml.Node) *yaml.Node {
	short := *root
	short.Content = nil
	for i := 0; i+1 < len(root.Content); i += 2 {
		if name := root.Content[i].Value; !slices.Contains(notTakenOver, name) && name != "about" && name != "by" {
			short.Content = append(short.Content, root.Content[i], root.Content[i+1])
		}
	}
	return &short
}

// alike reports whether two trees say the same.
func alike(a, b *yaml.Node) bool {
	return a == b || a.Kind == b.Kind && a.Value == b.Value && slices.EqualFunc(a.Content, b.Content, alike)
}

// keyOf is the field by which the elements of a list are told apart; "" for a list that is replaced as a whole.
func keyOf(list reflect.Type) string {
	if list.Kind() != reflect.Slice || list.Elem().Kind() != reflect.Struct {
		return ""
	}
	if list.Elem() == reflect.TypeFor[aircraft.State]() {
		return "name"
	}
	if byName, _ := fieldsOf(list.Elem()); len(byName) > 0 {
		if _, has := byName["id"]; has {
			return "id"
		}
	}
	return ""
}

// KeyOf is the field by which a group is told from others in a list when one document is laid over another, "" if there is none.
func KeyOf(group reflect.Type) string { return keyOf(reflect.SliceOf(group)) }

// Laid reports whether a list is laid over another one element by element, and does not take its place as a whole.
func Laid(list reflect.Type) bool {
	return keyOf(list) != "" || list == reflect.TypeFor[[]aircraft.Engine]()
}

func idOf(n *yaml.Node, key string) string {
	if at := field(n, key); at != nil && at.Kind == yaml.ScalarNode {
		return at.Value
	}
	return ""
}

// below is the type of a field of a group, or of an entry of named ones; nil for a field that there is not.
func below(t reflect.Type, name string) reflect.Type {
	if t == nil {
		return nil
	}
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Struct:
		byName, _ := fieldsOf(t)
		if i, ok := byName[name]; ok {
			return t.Field(i).Type
		}
	case reflect.Map:
		return t.Elem()
	}
	return nil
}

// merge lays what is written over what is there: groups field by field, lists of things with a name by these, engines by their place. Anything
// else takes the place of what was there.
func (o *overlay) merge(under, over *yaml.Node, t reflect.Type, path string) *yaml.Node {
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == nil || under.Kind != over.Kind || t == settingsType:
		return over
	case over.Kind == yaml.MappingNode && (t.Kind() == reflect.Struct || t.Kind() == reflect.Map):
		return o.group(under, over, t, path)
	case over.Kind == yaml.SequenceNode && keyOf(t) != "":
		return o.named(under, over, t, path)
	case over.Kind == yaml.SequenceNode && t == reflect.TypeFor[[]aircraft.Engine]():
		list := *over
		list.Content = slices.Clone(over.Content)
		for i := range min(len(under.Content), len(over.Content)) {
			list.Content[i] = o.merge(under.Content[i], over.Content[i], t.Elem(), fault.At(path, i))
		}
		return &list
	}
	return over
}

// group merges two groups. A control moves between positions or along a travel: what states the one is without the other.
func (o *overlay) group(under, over *yaml.Node, t reflect.Type, path string) *yaml.Node {
	either := map[string]string{}
	if t == reflect.TypeFor[aircraft.Control]() {
		either = map[string]string{"positions": "travel", "travel": "positions"}
	}
	out := *over
	out.Content = nil
	done := map[string]bool{}
	for i := 0; i+1 < len(under.Content); i += 2 {
		name := under.Content[i].Value
		if path == "" && slices.Contains(notTakenOver, name) || either[name] != "" && field(over, either[name]) != nil && field(over, name) == nil {
			continue
		}
		at := slices.Index(fieldNamesOf(over), name)
		if at < 0 {
			out.Content = append(out.Content, under.Content[i], under.Content[i+1])
			continue
		}
		done[name] = true
		out.Content = append(out.Content, over.Content[2*at], o.merge(under.Content[i+1], over.Content[2*at+1], below(t, name), fault.Join(path, name)))
	}
	for i := 0; i+1 < len(over.Content); i += 2 {
		if name := over.Content[i].Value; done[name] {
			done[name] = false // one that is given twice is told of as it is read
			continue
		}
		out.Content = append(out.Content, over.Content[i], over.Content[i+1])
	}
	return &out
}

// named merges two lists of things with names: in the order of what is there, then what is new.
func (o *overlay) named(under, over *yaml.Node, t reflect.Type, path string) *yaml.Node {
	key := keyOf(t)
	out := *over
	out.Content = slices.Clone(under.Content)
	var ids []string
	for _, n := range under.Content {
		ids = append(ids, idOf(n, key))
	}
	taken := map[int]bool{}
	for _, n := range over.Content {
		id := idOf(n, key)
		at := slices.Index(ids, id)
		if lacks := missing(n, t.Elem(), key); at < 0 && id != "" && len(lacks) > 0 {
			near := fault.Nearest(id, ids)
			o.refuse(field(n, key), fmt.Sprintf("%s; one that is new needs %s too", fault.Suggest(id, ids), strings.Join(lacks, ", ")),
				"%s has no %s %q", o.name, strings.TrimSuffix(path[strings.LastIndex(path, ".")+1:], "s"), id)
			if near == "" {
				continue // nothing more can be said of it
			}
			meant := *field(n, key)
			meant.Value = near
			n = replaced(n, key, &meant)
			at = slices.Index(ids, near)
		}
		if at < 0 || id == "" || taken[at] {
			out.Content = append(out.Content, n)
			continue
		}
		taken[at] = true
		if n.Kind == yaml.MappingNode && len(n.Content) == 2 {
			o.refuse(n, "write what differs, or leave it out here", "nothing is said of %q, which %s has already", id, o.name)
		}
		out.Content[at] = o.merge(out.Content[at], n, t.Elem(), fault.At(path, at))
	}
	return &out
}

// replaced is a mapping with another value for a field.
func replaced(n *yaml.Node, name string, value *yaml.Node) *yaml.Node {
	out := *n
	out.Content = slices.Clone(n.Content)
	for i := 0; i+1 < len(out.Content); i += 2 {
		if out.Content[i].Value == name {
			out.Content[i+1] = value
		}
	}
	return &out
}

// missing are the fields without which a new element is refused, and which it does not have.
func missing(n *yaml.Node, t reflect.Type, key string) (names []string) {
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("yaml"), ",")
		if name != key && field(n, name) == nil && docsOfFields()[t.String()+"."+f.Name].Needed {
			names = append(names, name)
		}
	}
	return names
}

// without is what lies under it less what is to be left out.
func (o *overlay) without(under *yaml.Node) *yaml.Node {
	list := field(o.doc.root, leaveOut)
	if list == nil || list.Kind != yaml.SequenceNode {
		return under
	}
	all := map[string]*yaml.Node{}
	var known []string
	reachable(under, reflect.TypeFor[aircraft.Profile](), "", func(path string, n *yaml.Node) {
		all[path] = n
		known = append(known, path)
	})
	gone := map[*yaml.Node]string{}
	for _, n := range list.Content {
		if n.Kind != yaml.ScalarNode || n.Value == "" {
			continue // told of as it is read
		}
		at, ok := all[n.Value]
		switch {
		case !ok:
			o.refuse(n, suggestPath(n.Value, known), "%s has no %q to leave out", o.name, n.Value)
		case gone[at] != "":
			o.refuse(n, "keep one of them", "%q is left out already", n.Value)
		default:
			gone[at] = n.Value
		}
	}
	if len(gone) == 0 {
		return under
	}
	o.drags(list, all, gone)
	for at, path := range maps.Clone(gone) {
		if list, id, _ := strings.Cut(path, "."); list == "controls" && at.Kind == yaml.MappingNode {
			unmove(field(under, "states"), id, gone)
			unmove(field(under, "expected"), id, gone)
		}
	}
	return o.prune(under, gone)
}

// hangs are the lists whose things are nothing without what a condition of theirs names, and that condition.
var hangs = []struct{ list, cond, names string }{{"systems.electrical.equipment", "on", "_live"}, {"captions", "when", ""}, {"alerts", "when", ""}}

// drags tells, all in one go, of what is left over once something is left out, because it hangs on nothing else; and takes it away, so that
// nothing more is said of it.
func (o *overlay) drags(leave *yaml.Node, all map[string]*yaml.Node, gone map[*yaml.Node]string) {
	names := map[string]bool{}
	note := func(path string) {
		for _, h := range append([]struct{ list, cond, names string }{{"controls", "", ""}}, hangs...) {
			if id, ok := strings.CutPrefix(path, h.list+"."); ok && !strings.Contains(id, ".") {
				names[id+h.names] = true
			}
		}
	}
	for _, path := range gone {
		note(path)
	}
	var dragged []string
	for more := true; more; {
		more = false
		for _, h := range hangs {
			things := all[h.list]
			if things == nil {
				continue
			}
			for _, n := range things.Content {
				cond := field(n, h.cond)
				path := h.list + "." + idOf(n, "id")
				if gone[n] != "" || cond == nil || o.stated(path, h.cond) {
					continue
				}
				if of := namesIn(cond.Value); len(of) > 0 && !slices.ContainsFunc(of, func(name string) bool { return !names[name] }) {
					gone[n], more = path, true
					dragged = append(dragged, path)
					note(path)
				}
			}
		}
	}
	if len(dragged) == 0 {
		return
	}
	var paths []string
	for _, n := range leave.Content {
		paths = append(paths, n.Value)
	}
	o.refuse(leave, fmt.Sprintf("write %s: [%s]", leaveOut, strings.Join(append(paths, dragged...), ", ")), "%s %s on nothing but what is left out",
		strings.Join(dragged, ", "), map[bool]string{true: "hangs", false: "hang"}[len(dragged) == 1])
}

// stated reports whether the document says something of its own about a thing of a list.
func (o *overlay) stated(path, name string) bool {
	n := o.doc.root
	for _, step := range strings.Split(path, ".") {
		if n == nil {
			return false
		}
		if n.Kind == yaml.SequenceNode {
			at := slices.IndexFunc(n.Content, func(e *yaml.Node) bool { return idOf(e, "id") == step })
			if at < 0 {
				return false
			}
			n = n.Content[at]
			continue
		}
		n = field(n, step)
	}
	return n != nil && field(n, name) != nil
}

// unmove marks every move of a control that is left out: what is not there is moved by nobody.
func unmove(n *yaml.Node, control string, gone map[*yaml.Node]string) {
	if n == nil {
		return
	}
	if set := field(n, "set"); set != nil {
		if at := field(set, control); at != nil {
			gone[at] = control
		}
	}
	for _, child := range n.Content {
		unmove(child, control, gone)
	}
}

// suggestPath is what to write instead of a path that there is not: one that ends in it, or else the nearest.
func suggestPath(written string, known []string) string {
	var ends []string
	for _, k := range known {
		if strings.HasSuffix(k, "."+written) {
			ends = append(ends, k)
		}
	}
	if len(ends) == 1 {
		return fmt.Sprintf("did you mean %q?", ends[0])
	}
	if len(ends) > 0 {
		return fault.Suggest(written, ends)
	}
	if near := fault.Nearest(written, known); near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	list, _, _ := strings.Cut(written, ".")
	var of, lists []string
	for _, k := range known {
		if l, name, inner := strings.Cut(k, "."); !inner {
			lists = append(lists, k)
		} else if l == list && !strings.Contains(name, ".") {
			of = append(of, k)
		}
	}
	if len(of) > 0 {
		return fault.Suggest(written, of)
	}
	return "write a list and a name in it, as captions.NAME, or a group or a figure, as systems.horizon; there are " + strings.Join(lists, ", ")
}

// reachable calls note for everything that can be left out, with its path: fields, and things of a list by their names.
func reachable(n *yaml.Node, t reflect.Type, path string, note func(path string, n *yaml.Node)) {
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case t == nil || t == settingsType:
	case n.Kind == yaml.MappingNode && (t.Kind() == reflect.Struct || t.Kind() == reflect.Map):
		for i := 0; i+1 < len(n.Content); i += 2 {
			name := n.Content[i].Value
			inner := below(t, name)
			if inner == nil || path == "" && (slices.Contains(notTakenOver, name) || name == "about" || name == "by") {
				continue
			}
			at := fault.Join(path, name)
			note(at, n.Content[i+1])
			reachable(n.Content[i+1], inner, at, note)
		}
	case n.Kind == yaml.SequenceNode && keyOf(t) != "":
		key := keyOf(t)
		for _, element := range n.Content {
			id := idOf(element, key)
			if id == "" {
				continue
			}
			at := fault.Join(path, id)
			note(at, element)
			for i := 0; i+1 < len(element.Content); i += 2 {
				if name := element.Content[i].Value; name != key {
					note(fault.Join(at, name), element.Content[i+1])
				}
			}
		}
	}
}

// prune is a tree without some of its nodes, made anew only where something is gone.
func (o *overlay) prune(n *yaml.Node, gone map[*yaml.Node]string) *yaml.Node {
	content := make([]*yaml.Node, 0, len(n.Content))
	changed := false
	step := 1
	if n.Kind == yaml.MappingNode {
		step = 2
	}
	for i := 0; i+step <= len(n.Content); i += step {
		value := n.Content[i+step-1]
		if gone[value] != "" {
			changed = true
			continue
		}
		left := o.prune(value, gone)
		changed = changed || left != value
		if step == 2 {
			content = append(content, n.Content[i])
		}
		content = append(content, left)
	}
	if !changed {
		return n
	}
	out := *n
	out.Content = content
	o.doc.homes[&out] = o.doc.homes[n]
	return &out
}

// sound reports whether nothing is wrong with what lies under a profile by itself.
func (d *document) sound() bool {
	for u := d.under; u != nil; u = u.under {
		if len(u.problems) > 0 {
			return false
		}
	}
	return true
}

// takenOver turns a problem of a profile at a place that lies under it into one that says so. One that is told of that profile itself
// is not told again.
func (d *document) takenOver(p Problem, path string, home *document) (Problem, bool) {
	if home == d {
		return p, true
	}
	for _, told := range home.problems {
		if told.Line == p.Line && told.Column == p.Column && told.Problem == p.Problem {
			return p, false
		}
	}
	p.Problem = fmt.Sprintf("as %s takes it over: %s", d.file, p.Problem)
	if thing := d.nameOf(path); thing != "" {
		p.Remedy = strings.TrimPrefix(fmt.Sprintf("%s; or say in %s how %s differs, or that it goes: %s: [%s]", p.Remedy, d.file, thing, leaveOut, thing), "; ")
	}
	return p, true
}

// nameOf is a path of the document as it is left out: the thing of a list, by its name, or the field.
func (d *document) nameOf(path string) string {
	t, n, out := reflect.TypeFor[aircraft.Profile](), d.root, ""
	for _, step := range strings.Split(strings.ReplaceAll(path, "[", ".["), ".") {
		var index int
		if _, err := fmt.Sscanf(step, "[%d]", &index); err == nil {
			if t == nil || keyOf(t) == "" || index >= len(n.Content) {
				return out
			}
			return fault.Join(out, idOf(n.Content[index], keyOf(t)))
		}
		next := field(n, step)
		if next == nil {
			return out
		}
		t, n, out = below(t, step), next, fault.Join(out, step)
	}
	return out
}
