package library

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// slip is something that is written wrongly in a sound document, and what has to be said of it.
type slip struct {
	right, wrong string
	want         string // part of what is said, with the line of what is wrong; where a line has gone, of its group
}

// slips are one of every kind for each kind of document: of how it is written, of what is left out, of what there is not, of what is out
// of range, of what does not go with something else.
var slips = []struct {
	document string // built in, or its text
	slips    []slip
}{
	{"profiles/dunlin-lt.yaml", []slip{
		{"title: Dunlin LT\n", "titel: Dunlin LT\n", `there is no field "titel" here; did you mean "title"?`},
		{"name: dunlin-lt\n", "name: Dunlin LT!\n", `the profile cannot be called "Dunlin LT!"`},
		{`key: "2", positions`, `key: "1", positions`, `key "1" already moves battery`},
		{"positions: [standby, altitude]", "positions: [standby, altitude, standby]", `"standby" is there twice`},
		{"springs: 1s}", "springs: 1}", "the time \"1\" has no unit"},
		{"min: 0, max: 32,", "min: 40, max: 32,", "the scale goes from 40 to 32"},
		{"text: LOW NR, level: warning", "text: LOW NR, level: warnign", `there is no level "warnign"; did you mean warning?`},
		{"when: nr > 108}", "when: nrr > 108}", `there is nothing named "nrr"`},
		{"tone: high-nr", "tone: high-pitched", `there is no tone "high-pitched"`},
		{"capacity_ah: 36", "capacity_ah: 36000", "36000 is out of range"},
		{"when: fire_seen2}", "after: 1s}", "when is missing"},
		{"{ext_power: \"on\", battery: \"on\", rotor_brake", "{ext_powr: \"on\", battery: \"on\", rotor_brake", `there is no control "ext_powr"`},
	}},
	{"procedures/first-start.yaml", []slip{
		{"title: Dunlin LT, first start of the day\n", "title: [a, b]\n", "a text is wanted here, not a list"},
		{"profile: dunlin-lt\n", "profile: dunlin-tl\n", `there is no profile "dunlin-tl"; did you mean "dunlin-lt"?`},
		{"id: cockpit\n", "ident: cockpit\n", `there is no field "ident" here`},
		{"response: Full and free\n", "response: ''\n", "the response is missing"},
		{"set: {harness: fastened}", "set: {harness: tight}", `control harness has no position "tight"`},
		{"set: {altimeter: field}", "sett: {altimetre: field}", `there is no field "sett" here; did you mean "set"?`},
		{"hold: ground-power\n", "hold: ground-powr\n", `there is no item "ground-powr"`},
		{"look: [collective, friction]", "look: [collective, frikshun]", `there is no gauge, caption or control "frikshun"`},
		{"        set: {doors: closed}\n", "", "item doors does not say how it is answered"},
	}},
	{"scenarios/cold-morning.yaml", []slip{
		{"title: Cold morning\n", "", "title is missing"},
		{"policy: prompted", "policy: promted", `there is no policy "promted"`},
		{"map: names", "map: 3", `there is no help of the map "3"`},
		{"oat: -4", "oat: -94", "-94 degrees is out of range"},
		{"    - door-open\n", "    - door-opened\n", `there is no abnormal "door-opened"; did you mean "door-open"?`},
		{"  count: 4", "  count: many", `"many" is not a whole number`},
		{"max_gap: 2m", "max_gap: 20s", "cut off at 20s, the waits could be guessed"},
		{"start-1, after-start,", "start-3, after-start,", `there is no phase "start-3"`},
		{"  right: 0.85", "  right: 85", "85 is out of range"},
		{"horn: 2500ms", "hron: 2500ms", `there is no field "hron" here; did you mean "horn"?`},
	}},
	{"abnormals/hot-start.yaml", []slip{
		{"title: Hot start of engine 1\n", "title: \"\"\n", "the title is missing"},
		{"eng1.bleed_stuck", "eng1.bleed_open", `there is no failure "eng1.bleed_open"`},
		{"to: 1}", "to: 1.5}", "1.5 is not a severity"},
		{"cues: [tot1]", "cues: [tot1, tott]", `there is no alert, caption, gauge, outside fact or control "tott"`},
		{"within: 8s, say", "within: 0.1s, say", "100ms is out of range"},
		{"say: \"Start 1 pressed, motored dry\"}", "sya: \"Start 1 pressed, motored dry\"}", `there is no field "sya" here; did you mean "say"?`},
		{"{set: {cut_guard: up}, say", "{set: {cut_gaurd: up}, say", `there is no control "cut_gaurd"; did you mean "cut_guard"?`},
		{"lost: tot1 > 950", "lost: tot1 > hot", `there is nothing named "hot"`},
		{"timeout: 60s", "timeout: 60", `the time "60" has no unit`},
		{"back_to: residual-1", "back_to: residual-9", `there is no item "residual-9"; did you mean`},
	}},
	{"start_from: perfect\nreaction: 1s\nleave_out: [doors]\nignore: [hot-start]\nanswers:\n  - {at: 10s, press: [tab]}\n  - {item: doors, press: [m]}\n", []slip{
		{"start_from: perfect", "start_from: prefect", `answers cannot start from "prefect"`},
		{"leave_out: [doors]", "leave_out: [dors]", `there is no item "dors"; did you mean "doors"?`},
		{"ignore: [hot-start]", "ignored: [hot-strat]", `there is no field "ignored" here; did you mean "ignore"?`},
		{"at: 10s", "at: ten", `"ten" is not a time`},
	}},
	{"passes_in_a_row: 3\nrecall: 0.8\nhandled: 0.5\nparts: [limits]\n", []slip{
		{"recall: 0.8", "recall: 80", "80 is no share"},
		{"handled: 0.5", "handeld: 0.5", `there is no field "handeld" here; did you mean "handled"?`},
		{"parts: [limits]", "parts: [limit]", `there is no procedure "limit"; did you mean "limits"?`},
	}},
}

// followUps are what is said besides, and as true: in a field that is read by the name that was meant, and of a field that is missing
// because its name is like none.
var followUps = regexp.MustCompile(`altimetre|hot-strat|^id is missing`)

// All that is wrong with a document is said at once: each slip at its line, whatever else is wrong, and nothing that is not so.
func TestEverythingWrongIsSaidAtOnce(t *testing.T) {
	l := everything(t)
	total := 0
	for _, doc := range slips {
		text, name := doc.document, "answers"
		if strings.HasSuffix(doc.document, ".yaml") {
			data, err := builtin.ReadFile(doc.document)
			if err != nil {
				t.Fatal(err)
			}
			text, name = string(data), doc.document
		}
		all := text
		for _, s := range doc.slips {
			if strings.Count(all, s.right) == 0 {
				t.Fatalf("%s: %q is not in it", name, s.right)
			}
			all = strings.Replace(all, s.right, s.wrong, 1)
		}
		path := filepath.Join(t.TempDir(), "wrong.yaml")
		if err := os.WriteFile(path, []byte(all), 0o600); err != nil {
			t.Fatal(err)
		}
		checked := l.Check(path)
		if len(checked) != 1 {
			t.Fatalf("%s: %d files", name, len(checked))
		}
		lines := strings.Split(all, "\n")
		said := checked[0].Problems
		for _, s := range doc.slips {
			total++
			found := -1
			for i, p := range said {
				if strings.Contains(p.Error(), s.want) {
					found = i
				}
			}
			if found < 0 {
				t.Errorf("%s: nothing is said of %q, where %q is wanted", name, s.wrong, s.want)
				continue
			}
			first, _, _ := strings.Cut(s.wrong, "\n")
			if line := lines[said[found].Line-1]; s.wrong != "" && !strings.HasSuffix(s.want, "is missing") && !strings.Contains(line, strings.TrimSpace(first)) {
				t.Errorf("%s: %s: said of the line %q", name, said[found].Error(), line)
			}
			said = append(said[:found:found], said[found+1:]...)
		}
		for _, p := range said {
			if !followUps.MatchString(p.Problem) {
				t.Errorf("%s: it is said too that %v", name, p)
			}
		}
	}
	t.Logf("%d slips", total)
}

// However much is wrong, no place is left out: what is alike is told in one line, with where.
func TestMuchThatIsWrongIsGrouped(t *testing.T) {
	var text strings.Builder
	text.WriteString("name: many\ntitle: Many\nabout: x\nprofile: dunlin-lt\nphases:\n  - id: a\n    title: A\n    items:\n")
	const items = 70
	for i := range items {
		fmt.Fprintf(&text, "      - {id: i%d, challenge: x, response: y, set: {swich%d: 'on'}, when: batery}\n", i, i)
	}
	path := filepath.Join(t.TempDir(), "many.yaml")
	if err := os.WriteFile(path, []byte(text.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	said := everything(t).Check(path)[0].Problems
	if len(said) != 2 {
		t.Fatalf("%d lines, not 2:\n%v", len(said), said)
	}
	for line := 9; line < 9+items; line++ {
		for _, p := range said {
			if at := fmt.Sprintf(" %d:", line); p.Line != line && !strings.Contains(p.Remedy, at) {
				t.Errorf("line %d is left out of: %v", line, p)
			}
		}
	}
	if !strings.Contains(said.Error(), fmt.Sprintf(`"swich%d"`, items-1)) {
		t.Errorf("the last name is left out of: %v", said)
	}
}
