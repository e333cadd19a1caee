package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"golang.org/x/net/html"
	"gopkg.in/yaml.v3"

	"hornlark/audio/tone"
	"hornlark/drill/aircraft"
	"hornlark/drill/aircraft/glossary"
	"hornlark/drill/drilltest/markup"
	"hornlark/drill/library"
)

// listed is what list says of a kind of words, as text.
func listed(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs strings.Builder
	if status := run(context.Background(), append([]string{"list"}, args...), streams{in: strings.NewReader(""), out: &out, err: &errs}); status != exitPassed {
		t.Fatalf("list %q: status %d: %s", args, status, errs.String())
	}
	return out.String()
}

// hostFor is a document of a profile that has the line of an example in it.
func hostFor(p *aircraft.Profile, procedure, where, name, line string) string {
	switch where {
	case "abnormal":
		cause, cues := "cause: [{failure: battery.weak, to: 1}]", "cues: ["+p.Gauges[0].ID+"]"
		switch {
		case strings.HasPrefix(line, "cause:"):
			cause = line
		case strings.HasPrefix(line, "cues:"):
			cues = line
		default:
			cues += "\n" + line
		}
		return fmt.Sprintf("name: %s\ntitle: x\nabout: x\nprofile: %s\n%s\n%s\nhandled: nr > 95\ntimeout: 10s\n", name, p.Name, cause, cues)
	case "item":
		if strings.HasPrefix(line, "when:") {
			line += ", check: nr > 95"
		}
		return fmt.Sprintf("name: %s\ntitle: x\nabout: x\nprofile: %s\nphases:\n  - {id: a, title: x, items: [{id: b, challenge: x, response: y, %s}]}\n", name, p.Name, line)
	case "scenario":
		return fmt.Sprintf("name: %s\ntitle: x\nabout: x\nprocedure: %s\npolicy: prompted\nmap: names\nweather: {oat: 12, pressure_altitude: 50}\n%s\n", name, procedure, line)
	}
	return ""
}

// Whatever is listed of an aircraft has a sentence and an example, and the real check takes the example.
func TestExamplesOfListedWordsAreAccepted(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range lib.Profiles() {
		procedure := ""
		for _, flow := range lib.Procedures() {
			if flow.Profile == p.Name && procedure == "" {
				procedure = flow.Name
			}
		}
		dir, files := t.TempDir(), 0
		for _, kind := range glossary.Kinds() {
			l := glossary.Of(p, kind)
			if len(l.Entries) == 0 || l.About == "" {
				t.Errorf("%s: nothing is listed of %s", p.Name, kind)
			}
			names := map[string]bool{}
			for _, e := range l.Entries {
				if !strings.HasSuffix(e.About, ".") || strings.Contains(e.About, "#") || names[e.Name] || !strings.Contains(e.Example, e.Name) {
					t.Errorf("%s: %s %s: %q, %s", p.Name, kind, e.Name, e.About, e.Example)
				}
				names[e.Name] = true
				if kind == glossary.Tones {
					if err := tone.Known(e.Name); err != nil {
						t.Error(err)
					}
					continue
				}
				files++
				name := fmt.Sprintf("%s-%d", kind, files)
				text := hostFor(p, procedure, e.Where, name, e.Example)
				if err := os.WriteFile(filepath.Join(dir, name+".yaml"), []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
		}
		status, out := checked(dir)
		if status != exitPassed || strings.Count(out, ": nothing is wrong\n") != files {
			t.Errorf("%s: %d examples: status %d\n%s", p.Name, files, status, out)
		}
		if files < 150 {
			t.Errorf("%s: only %d examples", p.Name, files)
		}
	}
}

// Every name that a condition may use stands in a list: by itself, or as what its list says is made of it.
func TestEveryNameOfConditionsIsListed(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range lib.Profiles() {
		known := []string{"new_warning", "new_caution"} // of alerts, told of with them
		for _, kind := range []glossary.Kind{glossary.Indications, glossary.Gauges, glossary.Captions, glossary.Alerts, glossary.Controls, glossary.Facts} {
			for _, e := range glossary.Of(p, kind).Entries {
				known = append(known, e.Name)
				if kind == glossary.Alerts {
					known = append(known, e.Name+"_ago")
				}
			}
		}
		for name := range p.Scope() {
			if !slices.Contains(known, name) {
				t.Errorf("%s: %s is listed nowhere", p.Name, name)
			}
		}
	}
}

// The fields are read on a terminal of 80 columns, and every one has a sentence and says what is written.
func TestListedFieldsFit(t *testing.T) {
	for line := range strings.Lines(listed(t, "fields")) {
		if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > listWidth {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	count := 0
	for _, kind := range library.Kinds() {
		seen := map[string]bool{}
		for _, f := range library.Fields(kind) {
			count++
			if !strings.HasSuffix(f.About, ".") || f.Type == "" || seen[f.Path] {
				t.Errorf("%s: %+v", kind, f)
			}
			seen[f.Path] = true
		}
	}
	page := listed(t, "fields", "--markdown")
	if rows := strings.Count(page, "\n| `"); rows != count {
		t.Errorf("%d rows of Markdown for %d fields", rows, count)
	}
	for line := range strings.Lines(page) {
		if bars := strings.Count(strings.ReplaceAll(line, `\|`, ""), "|"); bars != 0 && bars != 4 {
			t.Errorf("a row of %d bars: %s", bars, line)
		}
	}
}

// The pages have each field and each word once, with a place that a link leads to, and keep to the rules of all pages.
func TestPagesOfLists(t *testing.T) {
	lists := [][]string{{"fields", "--html", "-"}}
	for _, kind := range glossary.Kinds() {
		lists = append(lists, []string{string(kind), "--profile", "dunlin-lt", "--html", "-"})
	}
	for _, args := range lists {
		document, err := html.Parse(strings.NewReader(listed(t, args...)))
		if err != nil {
			t.Fatal(err)
		}
		markup.SelfContained(t, args[0], document)
		markup.Headings(t, args[0], document)
		markup.Tables(t, args[0], document)
		seen, rows := map[string]bool{}, 0
		for n := range document.Descendants() {
			id := markup.Attribute(n, "id")
			if id != "" && (seen[id] || strings.ContainsAny(id, " []{}")) {
				t.Errorf("%s: the place %q", args[0], id)
			}
			seen[id] = true
			if n.Data == "a" && id != "" {
				rows++
			}
		}
		want := 0
		for _, kind := range library.Kinds() {
			want += len(library.Fields(kind))
		}
		if args[0] == "fields" && rows != want || rows < 2 {
			t.Errorf("%s: %d rows", args[0], rows)
		}
	}
}

// An example of a field is YAML in one line, and most fields have one.
func TestExamplesOfFields(t *testing.T) {
	all, with := 0, 0
	for _, kind := range library.Kinds() {
		for _, f := range library.Fields(kind) {
			if strings.Contains(f.Type, "group") {
				continue
			}
			all++
			if f.Example == "" {
				continue
			}
			with++
			line := asIn(&f)
			var back map[string]any
			if err := yaml.Unmarshal([]byte(line), &back); err != nil || len(back) != 1 || strings.Contains(line, "\n") {
				t.Errorf("%s: %q: %v", f.Path, line, err)
			}
		}
	}
	if with*10 < all*9 {
		t.Errorf("%d of %d fields have an example", with, all)
	}
}

// Lists are read on a terminal of 80 columns, and by programs.
func TestListedWordsFitAndParse(t *testing.T) {
	for _, profile := range []string{"dunlin-lt", "turnstone-st", "whinchat-pt"} {
		for _, kind := range glossary.Kinds() {
			for line := range strings.Lines(listed(t, string(kind), "--profile", profile)) {
				if n := utf8.RuneCountInString(strings.TrimSuffix(line, "\n")); n > listWidth {
					t.Errorf("%s of %s: %d columns: %s", kind, profile, n, line)
				}
			}
			var back struct {
				Profile string
				Entries []glossary.Entry
			}
			if err := json.Unmarshal([]byte(listed(t, string(kind), "--profile", profile, "--json")), &back); err != nil || back.Profile != profile || len(back.Entries) == 0 {
				t.Errorf("%s of %s: %v, %d entries", kind, profile, err, len(back.Entries))
			}
		}
	}
}
