package library

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"hornlark/drill/aircraft"
)

// laid is a profile that is laid over the Dunlin LT, with what is said besides.
func laid(name, rest string) string {
	return "based_on: dunlin-lt\nname: " + name + "\ntitle: Mine\n" + rest
}

// folder writes documents into a folder of their own.
func folder(t *testing.T, texts map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range texts {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// saidOf is everything that is wrong with the documents of a folder.
func saidOf(t *testing.T, texts map[string]string) string {
	t.Helper()
	var out strings.Builder
	dir := folder(t, texts)
	for _, c := range builtinLibrary(t).Check(dir) {
		for _, p := range c.Problems {
			out.WriteString(p.Error() + "\n")
		}
	}
	return strings.ReplaceAll(out.String(), dir+string(filepath.Separator), "")
}

func builtinLibrary(t *testing.T) *Library {
	t.Helper()
	l, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// A profile that is laid over another one has what it says, and everything else of that: groups field by field, things in lists by their ids.
func TestAnOverlayHasWhatItSays(t *testing.T) {
	l := builtinLibrary(t)
	own, err := l.With(folder(t, map[string]string{
		"low.yaml": laid("mine-lt", `about: A Dunlin with other doors.
captions:
  - {id: door, text: DOORS OPEN}
  - {id: cold, text: COLD, level: advisory, when: oat < 0}
controls:
  - {id: pitot, positions: [off, low, high]}
  - {id: clock, travel: {from: 0, to: 1, step: 1, unit: tight}, start: "1"}
alerts: [{id: low_nr, name: ROTOR HORN}]
leave_out: [captions.chip1, expected, states, controls.cabin_heat, captions.heat_on]
systems:
  fuel: {main_kg: 250}
  electrical:
    equipment: [{id: pitot, on: pitot != "off"}]
  engines: [{bleed: ""}, {bleed: ""}]
`),
		"top.yaml": "based_on: mine-lt\nname: top-lt\ntitle: Top\nsystems: {fuel: {supply_kg: 30}}\n",
	}))
	if err != nil {
		t.Fatal(err)
	}
	base, _ := l.Profile("dunlin-lt")
	for name, supply := range map[string]float64{"mine-lt": base.Systems.Fuel.SupplyKg, "top-lt": 30} {
		p, err := own.Profile(name)
		if err != nil {
			t.Fatal(err)
		}
		control := func(id string) *aircraft.Control {
			i, ok := p.ControlIndex(id)
			if !ok {
				t.Fatalf("%s has no control %s", name, id)
			}
			return &p.Controls[i]
		}
		if !p.Own || p.Systems.Fuel.MainKg != 250 || p.Systems.Fuel.SupplyKg != supply || p.Systems.Fuel.PrimeBar != base.Systems.Fuel.PrimeBar {
			t.Errorf("%s: own %v, fuel %+v", name, p.Own, p.Systems.Fuel)
		}
		if c := control("pitot"); strings.Join(c.Positions, " ") != "off low high" || c.Name != "PITOT HEAT" || c.Key != "-" {
			t.Errorf("%s: %+v", name, c)
		}
		if c := control("clock"); c.Travel == nil || len(c.Positions) > 0 {
			t.Errorf("%s: %+v", name, c)
		}
		if n := len(base.Captions) - 2 + 1; len(p.Captions) != n || p.Captions[n-1].ID != "cold" {
			t.Errorf("%s: %d captions, want %d with the new one last", name, len(p.Captions), n)
		}
		for i := range p.Captions {
			if c := &p.Captions[i]; c.ID == "door" && (c.Text != "DOORS OPEN" || c.When != "not doors_closed") || c.ID == "chip1" || c.ID == "heat_on" {
				t.Errorf("%s: %+v", name, c)
			}
		}
		if p.Expected != nil || len(p.States) != 0 || len(p.Controls) != len(base.Controls)-1 {
			t.Errorf("%s: %v, %d states, %d controls", name, p.Expected, len(p.States), len(p.Controls))
		}
		if len(p.Systems.Engines) != 2 || p.Systems.Engines[1].Cut != base.Systems.Engines[1].Cut || p.Systems.Engines[1].Bleed != "" {
			t.Errorf("%s: %+v", name, p.Systems.Engines)
		}
	}
	if base.Systems.Fuel.MainKg == 250 || base.Captions[0].Text == "" {
		t.Error("what lies under it was changed")
	}
}

// What makes no sense is told of with its place, in the file that it stands in, and what to write instead.
func TestOverlaysAreStrict(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{laid("mine-lt", ""), "mine.yaml:1:11: nothing of dunlin-lt is changed; write what differs, as captions: [{id: "},
		{laid("mine-lt", "about: Another.\nby: Me\n"), "mine.yaml:1:11: nothing of dunlin-lt is changed"},
		{laid("mine-lt", "captions: [{id: door, text: DOOR}]\n"), "mine.yaml:1:11: nothing of dunlin-lt is changed"},
		{laid("mine-lt", "captions: [{id: door}]\n"), `mine.yaml:4:12: nothing is said of "door", which dunlin-lt has already; write what differs, or leave it out here`},
		{laid("mine-lt", "captions: [{id: doors, text: D}]\n"), `mine.yaml:4:17: dunlin-lt has no caption "doors"; did you mean "door"?; one that is new needs level, when too`},
		{laid("mine-lt", "leave_out: [captions.dor]\n"), `mine.yaml:4:13: dunlin-lt has no "captions.dor" to leave out; did you mean "captions.door"?`},
		{laid("mine-lt", "leave_out: [door_x]\n"), `mine.yaml:4:13: dunlin-lt has no "door_x" to leave out; write a list and a name in it, as captions.NAME`},
		{laid("mine-lt", "leave_out: [batt_hot]\n"), `did you mean "captions.batt_hot"?`},
		{laid("mine-lt", "leave_out: [captions.door, captions.door]\n"), `mine.yaml:4:28: "captions.door" is left out already; keep one of them`},
		{laid("mine-lt", "leave_out: [controls.pitot]\n"), "mine.yaml:4:12: systems.electrical.equipment.pitot, captions.pitot_off hang on nothing but what is left out; write leave_out: [controls.pitot, systems.electrical.equipment.pitot, captions.pitot_off]\n"},
		{laid("mine-lt", "leave_out: [title]\n"), `dunlin-lt has no "title" to leave out`},
		{laid("mine-lt", "leave_out: captions.door\n"), "mine.yaml:4:12: a list is wanted here"},
		{laid("mine-lt", "captions: [{id: door, texts: D}]\n"), "mine.yaml:4:23: there is no field \"texts\" here"},
		{laid("mine-lt", "captions: [{id: door, text: D, when: doors_clsed}]\n"), `mine.yaml:4:38: `},
		{laid("mine-lt", "systems: {fuel: {main_kg: 1000000}}\n"), "mine.yaml:4:27: "},
		{laid("mine-lt", "leave_out: [controls.battery]\n"), "profiles/dunlin-lt.yaml:"},
		{laid("mine-lt", "leave_out: [controls.battery]\n"), "as mine.yaml takes it over: "},
		{laid("mine-lt", "leave_out: [controls.battery]\n"), "or say in mine.yaml how systems.electrical.battery.on differs, or that it goes: leave_out: [systems.electrical.battery.on]"},
		{laid("mine-lt", "controls: [{id: gen1, key: \"4\"}]\n"), `key "4" already moves gen1; choose a key that is free; or say in mine.yaml how controls.gen2 differs`},
		{"based_on: dunlin-tl\nname: mine-lt\ntitle: Mine\nleave_out: [states.hover]\n", `mine.yaml:1:11: there is no profile "dunlin-tl"; did you mean "dunlin-lt"?`},
		{"base_on: dunlin-lt\nname: mine-lt\ntitle: Mine\nleave_out: [states.hover]\n", `mine.yaml:1:1: there is no field "base_on" here; did you mean "based_on"?`},
		{"based_on: mine-lt\nname: mine-lt\ntitle: Mine\nleave_out: [states.hover]\n", "mine.yaml:1:11: it is laid over itself: mine-lt over mine-lt"},
		{"based_on: dunlin-lt\ntitle: Mine\nleave_out: [states.hover]\n", "mine.yaml:1:1: name is missing"},
		{"based_on: dunlin-lt\nname: mine-lt\nleave_out: [states.hover]\n", "mine.yaml:1:1: title is missing"},
		{"name: mine-lt\ntitle: Mine\nleave_out: [states.hover]\ncontrols: []\n", "mine.yaml:3:12: there is nothing to leave out of"},
		{laid("mine-lt", "like: turnstone-st\nleave_out: [states.hover]\n"), "mine.yaml:4:7: a profile is either laid over another one or made of it"},
		{laid("mine-lt", "expected: {hover_trq: 20}\n"), "mine.yaml:4:23: "},
		{laid("mine-lt", "systems: {rotor: {inertia: 2200}}\n"), "as mine.yaml takes it over: "},
	} {
		got := saidOf(t, map[string]string{"mine.yaml": c.text})
		if !strings.Contains(got, c.says) {
			t.Errorf("%q is not said of\n%s\nbut:\n%s", c.says, c.text, got)
		}
		if lines := strings.Count(got, "\n"); lines > 35 || strings.Contains(c.says, "based_on") && lines > 1 {
			t.Errorf("%d lines are said of\n%s\n%s", lines, c.text, got)
		}
	}
}

// What is laid over what, in any order of the files, up to a bound and in no circle.
func TestChainsOfOverlays(t *testing.T) {
	chain := map[string]string{}
	name := func(i int) string { return "lt-" + string(rune('z'-i)) } // files come in the order of their names
	for i := range MaxBased {
		under, sheet := "dunlin-lt", "leave_out: [expected]\n" // which nobody has to fly
		if i > 0 {
			under, sheet = name(i-1), ""
		}
		chain[name(i)+".yaml"] = "based_on: " + under + "\nname: " + name(i) + "\ntitle: Mine\nsystems: {fuel: {main_kg: " + string(rune('1'+i)) + "00}}\n" + sheet
	}
	l, err := builtinLibrary(t).With(folder(t, chain))
	if err != nil {
		t.Fatal(err)
	}
	if up := l.ancestors(name(MaxBased - 1)); len(up) != MaxBased || up[MaxBased-1] != "dunlin-lt" {
		t.Errorf("it is laid over %v", up)
	}
	if p, err := l.Profile(name(MaxBased - 1)); err != nil || p.Systems.Fuel.MainKg != 800 {
		t.Errorf("%v, %v", p.Systems.Fuel, err)
	}
	chain["one-more.yaml"] = "based_on: " + name(MaxBased-1) + "\nname: one-more\ntitle: Mine\nsystems: {fuel: {main_kg: 99}}\n"
	if got := saidOf(t, chain); !strings.HasPrefix(got, "one-more.yaml:1:11: there are 9 profiles under this one; stay within 8\n") {
		t.Error(got)
	}
	circle := map[string]string{}
	for file, under := range map[string]string{"a": "b", "b": "c", "c": "b"} {
		circle[file+".yaml"] = "based_on: " + under + "\nname: " + file + "\ntitle: Mine\nsystems: {fuel: {main_kg: 99}}\n"
	}
	got := saidOf(t, circle)
	for _, says := range []string{
		"a.yaml:1:11: what it is laid over is laid over itself: b over c over b",
		"b.yaml:1:11: it is laid over itself: b over c over b",
		"c.yaml:1:11: it is laid over itself: c over b over c",
	} {
		if !strings.Contains(got, says) {
			t.Errorf("%q is not in\n%s", says, got)
		}
	}
}

// A fault of what lies under it is told once, where it stands, and not of all that is laid over that.
func TestFaultsUnderneathAreToldOnce(t *testing.T) {
	got := saidOf(t, map[string]string{
		"a.yaml": laid("a-lt", "captions: [{id: door, text: DOORS, when: doors_clsed}]\n"),
		"b.yaml": "based_on: a-lt\nname: b-lt\ntitle: B\nsystems: {fuel: {main_kg: 99}}\n",
	})
	if strings.Count(got, "doors_clsed") != 1 || strings.Count(got, "\n") != 1 || !strings.HasPrefix(got, "a.yaml:4:") {
		t.Error(got)
	}
}

const onMine = `name: on-mine
title: On mine
about: For a test.
procedure: dunlin-hover
profile: mine-lt
policy: alerts
map: bare
weather: {oat: 12, pressure_altitude: 50, tailwind: 0}
state: hover
injections: [{abnormal: generator-failure, at: 30s}]
pass: {handled: 1}
`

// What was written for the profile that lies under it works on an overlay where it makes sense, and where it does not, that is said.
func TestWhatWasWrittenForTheBase(t *testing.T) {
	builtin := builtinLibrary(t)
	all := len(builtin.flows("dunlin-lt"))
	l, err := builtin.With(folder(t, map[string]string{
		"mine.yaml": laid("mine-lt", "leave_out: [gauges.gbx_temp, captions.gbx_hot]\n"),
		"on.yaml":   onMine,
	}))
	if err != nil {
		t.Fatal(err)
	}
	view, declined := l.For("mine-lt")
	if n := len(view.flows("mine-lt")); n == 0 || n+len(declinedOf(declined, Procedure)) != all {
		t.Errorf("%d of %d procedures are for it, and %v are not", n, all, declinedOf(declined, Procedure))
	}
	if not := declinedOf(declined, Abnormal); strings.Join(not, " ") != "gearbox-hot" {
		t.Errorf("%v are declined", not)
	}
	without := map[string]string{}
	for _, b := range declined {
		without[b.Name] = strings.Join(b.Without, "; ")
	}
	for name, want := range map[string]string{"dunlin-start": "gbx_hot", "dunlin-hover": "gbx_", "hover-drizzle": "abnormal gearbox-hot"} {
		if !strings.Contains(without[name], want) {
			t.Errorf("%s is without %q, want %q", name, without[name], want)
		}
	}
	for _, a := range view.Abnormals() {
		if a.Name == "generator-failure" && a.Profile != "mine-lt" {
			t.Errorf("%s is for %s", a.Name, a.Profile)
		}
		if before, _ := l.Abnormal(a.Name); before == a && a.Profile == "mine-lt" {
			t.Errorf("%s was changed in the library", a.Name)
		}
	}
	if again, none := view.For("mine-lt"); len(again.flows("mine-lt")) != len(view.flows("mine-lt")) || len(none) > len(declined) {
		t.Error("it is another one the second time")
	}
	if same, none := l.For("dunlin-lt"); same != l || none != nil {
		t.Error("what is laid over nothing has another library")
	}
	b, err := l.Resolve("on-mine")
	if err != nil {
		t.Fatal(err)
	}
	if b.Profile.Name != "mine-lt" || b.Procedure.Profile != "mine-lt" || b.Abnormals[0].Profile != "mine-lt" {
		t.Errorf("%s, %s, %s", b.Profile.Name, b.Procedure.Profile, b.Abnormals[0].Profile)
	}
	// Kept with a sitting it needs neither file, and comes back the same.
	kept := b.Pack()
	again, err := Unpack(kept)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(again.Pack(), kept) || !again.Profile.Own || bytes.Contains(kept, []byte("based_on")) || bytes.Contains(kept, []byte("leave_out")) {
		t.Errorf("%d bytes are kept, and %d come back", len(kept), len(again.Pack()))
	}
}

func declinedOf(all []Borrowed, kind Kind) (names []string) {
	for _, d := range all {
		if d.Kind == kind && !d.Works() {
			names = append(names, d.Name)
		}
	}
	return names
}

// A scenario says why what it names does not go with the profile that it names.
func TestScenariosOnOverlaysAreStrict(t *testing.T) {
	mine := laid("mine-lt", "leave_out: [captions.gbx_hot, gauges.gbx_temp, states.hover, expected]\n")
	for _, c := range []struct{ from, to, says string }{
		{"generator-failure", "gearbox-hot", `s.yaml:10:25: abnormal gearbox-hot was written for dunlin-lt and does not work here: `},
		{"generator-failure", "turnstone-fire", `s.yaml:10:25: abnormal turnstone-fire is for profile turnstone-st; choose one that is for mine-lt`},
		{"profile: mine-lt", "profile: mine-tl", `s.yaml:5:10: there is no profile "mine-tl"; did you mean "mine-lt"?`},
		{"profile: mine-lt", "profile: whinchat-pt", `s.yaml:5:10: procedure dunlin-hover is for dunlin-lt, and whinchat-pt is neither laid over that nor made of it`},
		{"dunlin-hover", "turnstone-hover", `s.yaml:5:10: procedure turnstone-hover is for turnstone-st, and mine-lt is neither`},
		{"state: hover", "state: hover", `there is no state "hover"`},
	} {
		got := saidOf(t, map[string]string{"mine.yaml": mine, "s.yaml": strings.Replace(onMine, c.from, c.to, 1)})
		if !strings.Contains(got, c.says) {
			t.Errorf("%q is not in\n%s", c.says, got)
		}
	}
	for _, whole := range []string{"leave_out: [controls.doors, captions.door, expected]\nsystems: {door: \"\"}\n"} {
		got := saidOf(t, map[string]string{"mine.yaml": laid("mine-lt", whole), "s.yaml": strings.Replace(strings.Replace(onMine, "dunlin-hover", "dunlin-start", 1), "state: hover\n", "", 1)})
		if !strings.Contains(got, "procedure dunlin-start was written for dunlin-lt and does not work on mine-lt: ") {
			t.Error(got)
		}
	}
}

// A copy of a profile, which is no overlay, has what was written for that too.
func TestAProfileMadeOfAnother(t *testing.T) {
	text, err := builtinLibrary(t).ProfileText("whinchat-pt")
	if err != nil {
		t.Fatal(err)
	}
	copied := strings.Replace(text, "name: whinchat-pt", "name: mine-pt\nlike: whinchat-pt", 1)
	l, err := builtinLibrary(t).With(folder(t, map[string]string{"mine.yaml": copied}))
	if err != nil {
		t.Fatal(err)
	}
	view, declined := l.For("mine-pt")
	for _, b := range declined {
		if !b.Works() || len(b.Without) > 0 {
			t.Errorf("%+v", b)
		}
	}
	if len(view.flows("mine-pt")) != len(l.flows("whinchat-pt")) || len(view.flows("whinchat-pt")) > 0 {
		t.Errorf("%d procedures", len(view.flows("mine-pt")))
	}
	for like, says := range map[string]string{"whinchat-tp": `did you mean "whinchat-pt"?`, "mine-pt": "each said to be made of the other"} {
		if got := saidOf(t, map[string]string{"mine.yaml": strings.Replace(copied, "like: whinchat-pt", "like: "+like, 1)}); !strings.Contains(got, says) || !strings.HasPrefix(got, "mine.yaml:") {
			t.Error(got)
		}
	}
}

// A sitting reads only the documents that its scenario names, those that these are laid over among them.
func TestAPartFollowsTheChain(t *testing.T) {
	files, err := builtinFiles()
	if err != nil {
		t.Fatal(err)
	}
	files = append(files,
		file{name: "profiles/mine.yaml", data: []byte(laid("mine-lt", "leave_out: [captions.gbx_hot]\n"))},
		file{name: "profiles/top.yaml", data: []byte("based_on: mine-lt\nname: top-lt\ntitle: Top\nsystems: {fuel: {main_kg: 99}}\n")},
		file{name: "scenarios/on.yaml", data: []byte(strings.Replace(onMine, "mine-lt", "top-lt", 1))})
	part, err := partOf(files, "on-mine")
	if err != nil || part == nil {
		t.Fatal(err)
	}
	got, err := part.Resolve("on-mine")
	if err != nil {
		t.Fatal(err)
	}
	whole := newLibrary()
	if _, problems := whole.add(files, false); len(problems) > 0 {
		t.Fatal(problems)
	}
	want, err := whole.Resolve("on-mine")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got.Pack(), want.Pack()) || got.Profile.Systems.Fuel.MainKg != 99 {
		t.Error("its documents are not those of the whole library")
	}
	if len(part.profiles) != 3 || len(part.procedures) != len(whole.flows("dunlin-lt")) {
		t.Errorf("%v and %v are read", part.profiles.names(), part.procedures.names())
	}
}
