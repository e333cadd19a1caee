package library

import (
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"gopkg.in/yaml.v3"

	"hornlark/drill/aircraft"
)

var rewriteFields = flag.Bool("rewrite", false, "write fields.json anew")

// commentsOf gives what is said beside each field of the structs of a package, as sentences.
func commentsOf(t *testing.T, pkg, dir string, into map[string]fieldDoc) {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil || len(paths) == 0 {
		t.Fatal(dir, err)
	}
	for _, path := range paths {
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			spec, ok := n.(*ast.TypeSpec)
			if !ok {
				return true
			}
			of, ok := spec.Type.(*ast.StructType)
			if !ok {
				return false
			}
			for _, f := range of.Fields.List {
				if len(f.Names) != 1 || f.Comment == nil {
					continue
				}
				text := []rune(strings.Join(strings.Fields(f.Comment.Text()), " "))
				text[0] = unicode.ToUpper(text[0])
				into[pkg+"."+spec.Name.Name+"."+f.Names[0].Name] = fieldDoc{About: strings.TrimSuffix(string(text), ".") + "."}
			}
			return false
		})
	}
}

// samples are the documents in which fields are tried: those that are built in, answers and criteria.
func samples(t *testing.T) map[string]string {
	t.Helper()
	texts := map[string]string{
		"tried-answers.yaml":  "about: leaves the doors out\nstart_from: perfect\nreaction: 1s\nleave_out: [doors]\nswap: [[doors, harness]]\nignore: [hot-start]\nanswers:\n  - {at: 10s, after: 1s, every: 1s, press: [tab]}\n  - {item: doors, press: [m]}\n  - {abnormal: hot-start, press: [m]}\ninstructor:\n  - {at: 2s, do: insert, what: hot-start, item: doors}\n  - {at: 3s, do: insert, what: hot-start, time: 1m}\n  - {at: 4s, do: insert, what: hot-start, phase: start-2}\n  - {at: 5s, do: weather, what: oat, to: 31}\n",
		"tried-criteria.yaml": "passes_in_a_row: 3\ndays_apart: 2\nsurprises: 1\nwithin_days: 14\nrecall: 0.85\nshown: 0.5\nnoticed: 0.9\nhandled: 0.8\ndetection: 8s\nwithin_par: 0.75\nparts: [limits]\n",
	}
	texts["tried-scenario.yaml"] = `name: tried
title: x
about: x
procedure: dunlin-start
profile: dunlin-lt
phases: [cockpit, power]
policy: prompted
feedback: at the end
tell: after 10s
map: names
weather: {oat: 12, pressure_altitude: 50}
seed: 7
injections: [{abnormal: radio-call, at: 1m, after: 5s}]
drawn: {from: [radio-call], count: 1, min_gap: 10s, mean_gap: 20s, max_gap: 1m, window: {from: 10s, until: 20m}}
pass: {reaction: 3s, within_par: 0.5}
`
	texts["tried-abnormal.yaml"] = `name: tried
title: x
about: x
profile: dunlin-lt
call: x
cause: [{failure: low_nr.mute, to: 1, over: 1s}]
cues: [low_nr]
actions: [{silence: true, within: 5s, say: x}]
handled: nr > 95
ends: [{when: nr < 90, for: 2s, text: x}]
remains: true
`
	texts["tried-overlay.yaml"] = `name: tried-lt
title: x
based_on: dunlin-lt
leave_out: [captions.gbx_hot]
`
	made, err := fs.ReadFile(builtin, "profiles/whinchat-pt.yaml")
	if err != nil {
		t.Fatal(err)
	}
	texts["tried-made.yaml"] = strings.Replace(string(made), "name: whinchat-pt\n", "name: tried-pt\nlike: whinchat-pt\n", 1)
	texts["tried-procedure.yaml"] = `name: tried
title: x
about: x
profile: dunlin-lt
phases:
  - id: a
    title: x
    items:
      - {id: b, challenge: x, response: y, callout: {gauge: nr, value: 50, window: 2s}, after: nr > 1, wait: 1m}
      - {id: c, challenge: x, response: y, figure: {gauge: nr, value: 50}, within: 10s}
      - {id: d, challenge: x, response: y, confirm: nr > 1}
`
	// The fields that no built-in profile has a use for.
	whinchat, err := fs.ReadFile(builtin, "profiles/whinchat-pt.yaml")
	if err != nil {
		t.Fatal(err)
	}
	other := string(whinchat)
	for _, change := range [][2]string{
		{"name: whinchat-pt\n", "name: tried-pt\nby: Skerry Sound\n"},
		{"key: \"1\", positions: [off, on]}", "key: \"1\", positions: [off, on], start: off}"},
		{"clutch: {lever: belt_lever, ", "clutch: {engage: not belt_latch, "},
		{"\ncaptions:\n", "\ncaptions:\n  - {id: kept, text: KEPT, level: advisory, when: battery, latch: true}\n"},
		{"\nexpected:\n", "\nexpected:\n  weather: {oat: 15, pressure_altitude: 0}\n"},
	} {
		if strings.Count(other, change[0]) != 1 {
			t.Fatalf("the profile has %q %d times", change[0], strings.Count(other, change[0]))
		}
		other = strings.Replace(other, change[0], change[1], 1)
	}
	texts["tried-profile.yaml"] = other
	err = fs.WalkDir(builtin, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := fs.ReadFile(builtin, path)
		texts[path] = string(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return texts
}

// faultsIn are the problems of a document among the built-in ones, without flying it.
func faultsIn(l *Library, text []byte) Problems {
	return faultsOf(l, readDocument(file{name: "tried.yaml", data: text}))
}

// faultsOf is the same of a document that has been read.
func faultsOf(l *Library, s shelving) Problems {
	if s.over != nil {
		own := *l
		own.profiles = maps.Clone(l.profiles)
		own.layOver(&s, true)
	}
	problems := s.problems
	if p, ok := s.doc.(*aircraft.Profile); ok && len(problems) == 0 {
		return l.checkLineage(entry[aircraft.Profile]{doc: p, source: s.source}) // all but flying it
	}
	if s.check != nil {
		problems = append(problems, s.check(l)...)
	}
	return problems
}

// faultsAt is the same of what stands in a document. Where it stands is not known.
func faultsAt(l *Library, root *yaml.Node) Problems {
	return faultsOf(l, takeDocument(&document{file: "tried.yaml", text: strings.Repeat("\n", 2000), root: root, places: map[string]*yaml.Node{}, spoilt: map[string]bool{}}))
}

// groups finds the mappings that a path leads to; an empty one is the document itself.
func groups(root *yaml.Node, path string) (found []*yaml.Node) {
	var steps []string
	if path != "" {
		steps = strings.Split(strings.ReplaceAll(path, "[]", ".[]"), ".")
	}
	var walk func(n *yaml.Node, steps []string)
	walk = func(n *yaml.Node, steps []string) {
		switch {
		case len(steps) == 0 && n.Kind == yaml.MappingNode:
			found = append(found, n)
		case len(steps) == 0:
		case steps[0] == "[]" && n.Kind == yaml.SequenceNode:
			for _, element := range n.Content {
				walk(element, steps[1:])
			}
		case n.Kind == yaml.MappingNode:
			for i := 0; i+1 < len(n.Content); i += 2 {
				if n.Content[i].Value == steps[0] || steps[0] == "{}" {
					walk(n.Content[i+1], steps[1:])
				}
			}
		}
	}
	walk(root, steps)
	return found
}

// around splits the path of a field into that of its group and its name.
func around(path string) (group, name string) {
	i := strings.LastIndex(path, ".")
	return path[:max(0, i)], path[i+1:]
}

// written is a document as text again.
func written(t *testing.T, root *yaml.Node) []byte {
	t.Helper()
	text, err := yaml.Marshal(root)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// soundSamples are those that have been found so.
var soundSamples = map[string]bool{}

// everyInstance calls try with every field that stands in a sample, once each, and gives those that a sound group does without.
func everyInstance(t *testing.T, l *Library, try func(path, key string, f reflect.StructField, root *yaml.Node, in *yaml.Node, at int)) (spared map[string]bool) {
	tried, spared := map[string]bool{}, map[string]bool{}
	texts := samples(t)
	for _, sample := range slices.Sorted(maps.Keys(texts)) {
		if !soundSamples[sample] {
			if problems := faultsIn(l, []byte(texts[sample])); len(problems) > 0 {
				t.Fatalf("%s is not sound: %v", sample, problems)
			}
			soundSamples[sample] = true
		}
		d, problems := parse(sample, []byte(texts[sample]))
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		kind, problem := d.kind()
		if problem != nil {
			t.Fatal(problem)
		}
		fieldsBelow(roots[kind], "", func(path, key string, f reflect.StructField) {
			group, name := around(path)
			for _, in := range groups(d.root, group) {
				at := slices.IndexFunc(in.Content, func(n *yaml.Node) bool { return n.Value == name })
				for at > 0 && at%2 != 0 {
					next := slices.IndexFunc(in.Content[at+1:], func(n *yaml.Node) bool { return n.Value == name })
					if next < 0 {
						at = -1
						break
					}
					at += 1 + next
				}
				switch {
				case at < 0 && d.base() != nil: // it is there, in what it is laid over
				case at < 0:
					spared[key] = true
				case !tried[key]:
					tried[key] = true
					try(path, key, f, d.root, in, at)
				}
			}
		})
	}
	for _, kind := range Kinds() {
		fieldsBelow(roots[kind], "", func(path, key string, _ reflect.StructField) {
			if !tried[key] {
				t.Errorf("no sample has %s of a %s", path, kind)
			}
		})
	}
	return spared
}

// longestExample is how long an example may be, in characters.
const longestExample = 60

// exampleFrom is a value in one line, or nothing where that would be too long, or groups stand in it.
func exampleFrom(t *testing.T, value *yaml.Node) string {
	t.Helper()
	flow := *value
	if flow.Kind != yaml.ScalarNode {
		for _, inner := range value.Content {
			if inner.Kind == yaml.MappingNode {
				return ""
			}
		}
		flow.Style = yaml.FlowStyle
	} else {
		flow.Style &^= yaml.FoldedStyle | yaml.LiteralStyle
	}
	flow.HeadComment, flow.LineComment, flow.FootComment = "", "", ""
	line := strings.TrimSuffix(string(written(t, &flow)), "\n")
	if strings.Contains(line, "\n") || len(line) > longestExample {
		return ""
	}
	return line
}

// missed reports whether a problem says that a field is not there.
func missed(problem, name string) bool {
	before, missing := strings.CutSuffix(problem, name+" is missing")
	return missing && (before == "" || strings.HasSuffix(before, " ") || strings.HasSuffix(before, ".")) ||
		strings.HasSuffix(problem, " has no "+name) || strings.Contains(problem, " does not say ") ||
		name == "oat" && problem == noOAT
}

// goName is a word of the source, which a reader of the list does not know.
var goName = regexp.MustCompile(`\b[A-Za-z]*[a-z][A-Z]|(?i:\bnil\b|\bzero\b)|\bsee [A-Z]`)

// What is said of the fields is what stands beside them in the source today, every field has a sentence, and that a field is needed has been
// tried: no sound document has its group without it, and one from which it is taken is refused for that.
func TestFieldsAreThoseOfToday(t *testing.T) {
	all := map[string]fieldDoc{}
	for pkg, dir := range map[string]string{"aircraft": "../aircraft", "procedure": "../procedure", "scenario": "../scenario", "practice": "../practice"} {
		commentsOf(t, pkg, dir, all)
	}
	want := map[string]fieldDoc{}
	for _, kind := range Kinds() {
		fieldsBelow(roots[kind], "", func(path, key string, f reflect.StructField) {
			doc, ok := all[key]
			if !ok {
				t.Errorf("%s, which is %s of a %s, has no sentence beside it", key, path, kind)
			}
			if is, _, _ := strings.Cut(f.Tag.Get("is"), ","); is != "" && textWords[is] == "" {
				t.Errorf("%s: there are no words for a text that is a %s", key, is)
			}
			if word := goName.FindString(strings.ReplaceAll(doc.About, "kW", "")); word != "" {
				t.Errorf("%s: %q in %q is a word of the source", key, word, doc.About)
			}
			want[key] = doc
		})
	}
	l := everything(t)
	spared := everyInstance(t, l, func(path, key string, _ reflect.StructField, root *yaml.Node, in *yaml.Node, at int) {
		content := in.Content
		example := exampleFrom(t, content[at+1])
		in.Content = slices.Concat(content[:at], content[at+2:])
		doc := want[key]
		doc.Example = example
		_, name := around(path)
		for _, p := range faultsAt(l, root) {
			doc.Needed = doc.Needed || missed(p.Problem, name)
		}
		in.Content = content
		want[key] = doc
	})
	for key := range spared {
		doc := want[key]
		doc.Needed = false
		want[key] = doc
	}
	body, err := json.MarshalIndent(want, "", "\t")
	if err != nil {
		t.Fatal(err)
	}
	body = append(body, '\n')
	if *rewriteFields {
		if err := os.WriteFile("fields.json", body, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if string(body) != string(fieldDocs) {
		t.Error("fields.json is not that of today: write it anew with go test ./drill/library -run FieldsAreThoseOfToday -rewrite")
	}
}

// The ranges that are told are those that the loader holds figures to: at both ends they are taken, and beyond them refused.
func TestRangesOfFieldsHold(t *testing.T) {
	l := everything(t)
	held := 0
	everyInstance(t, l, func(path, key string, f reflect.StructField, root *yaml.Node, in *yaml.Node, at int) {
		low, high, ok := strings.Cut(f.Tag.Get("range"), "..")
		value := in.Content[at+1]
		if !ok || value.Kind != yaml.ScalarNode {
			return
		}
		saved := *value
		refused := func(text string) bool {
			*value = yaml.Node{Kind: yaml.ScalarNode, Value: text}
			defer func() { *value = saved }()
			for _, p := range faultsAt(l, root) {
				if outside.MatchString(p.Problem) && strings.Contains(p.Problem+p.Remedy, strings.TrimLeft(shown(text), "-")) {
					return true
				}
			}
			return false
		}
		under, over := beyond(t, low, -1), beyond(t, high, 1)
		if strings.HasPrefix(under, "-") && strings.HasSuffix(under, "s") {
			under = "" // no time can be written below none
		}
		if low == "1s" || low == "100ms" { // of some, none is as if it were left out
			under = "50ms"
		}
		if held++; testing.Short() && held%8 != 0 {
			return
		}
		for _, text := range []string{low, high} {
			if refused(text) {
				t.Errorf("%s of %s: %s is told to be in its range, and refused", path, key, text)
			}
		}
		for _, text := range []string{under, over} {
			if text != "" && !refused(text) {
				t.Errorf("%s of %s: %s is told to be out of its range, and taken", path, key, text)
			}
		}
	})
	if held < 150 && !testing.Short() {
		t.Errorf("only %d figures were tried", held)
	}
}

// outside is how it is said that a figure cannot be.
var outside = regexp.MustCompile(`out of range|cannot|is no share|asked for|is too long`)

// shown is a figure as it is said.
func shown(text string) string {
	if d, err := time.ParseDuration(text); err == nil && text != "0" {
		return d.String()
	}
	if x, err := strconv.ParseFloat(text, 64); err == nil {
		return fmt.Sprint(x)
	}
	return text
}

// beyond is a figure just outside of an end of a range.
func beyond(t *testing.T, end string, by int) string {
	t.Helper()
	if d, err := time.ParseDuration(end); err == nil && end != "0" {
		return (d + time.Duration(by)*10*time.Millisecond).String()
	}
	var x float64
	if _, err := fmt.Sscan(end, &x); err != nil {
		t.Fatal(err)
	}
	return strconv.FormatFloat(x+float64(by), 'f', -1, 64)
}
