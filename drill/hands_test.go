package drill_test

import (
	"slices"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// cockpitOf is a quiet scenario with a profile of its own that a test may change, and the one item that it asks.
func cockpitOf(t *testing.T, change func(p *aircraft.Profile), items ...procedure.Item) drilltest.Setup {
	t.Helper()
	setup := drilltest.Of(t, deskLibrary(t), "first-start-quiet")
	b := library.Bundle{Profile: setup.Profile, Procedure: setup.Procedure, Scenario: setup.Scenario}
	own, err := library.Unpack(b.Pack())
	if err != nil {
		t.Fatal(err)
	}
	setup.Profile = own.Profile
	change(setup.Profile)
	if err := setup.Profile.Compile().Err(); err != nil {
		t.Fatal(err)
	}
	setup.Procedure = &procedure.Procedure{Name: "short", Title: "Short", Profile: setup.Profile.Name, Phases: []procedure.Phase{
		{ID: "all", Title: "All", Items: items},
	}}
	return setup
}

// pressed goes through a sitting with presses at times of it.
func pressed(t *testing.T, setup drilltest.Setup, keys ...string) (*drill.Sitting, []logbook.Entry, *score.Result) {
	t.Helper()
	p := compiled(t, setup.Documents)
	s := p.begin()
	r := &run{}
	pump := func() {
		for _, o := range s.Outputs() {
			r.take(o)
		}
	}
	for i, key := range keys {
		press, err := drill.ParsePress(key)
		if err == nil {
			err = s.Input(time.Duration(i+3)*time.Second, press)
		}
		if err != nil {
			t.Fatal(err)
		}
		pump()
	}
	if err := drill.Run(s, nil, drill.EstimatedLength, func(o drill.Output) error { return r.take(o) }); err != nil {
		t.Fatal(err)
	}
	return s, r.entries, score.Judge(p.Sheet(p.seed), r.entries)
}

func kinds(log []logbook.Entry, kind logbook.Kind) (list []logbook.Entry) {
	for _, e := range log {
		if e.Kind == kind {
			list = append(list, e)
		}
	}
	return list
}

// A control that is locked stays where it is, whoever moves it; the press is told of and is no slip by itself.
func TestLockedControls(t *testing.T) {
	lock := func(p *aircraft.Profile) {
		i, _ := p.ControlIndex("doors")
		p.Controls[i].Locked = "not harness"
	}
	item := procedure.Item{ID: "doors", Challenge: "Doors", Response: "Closed", Set: aircraft.Put("harness", "fastened", "doors", "closed")}
	setup := cockpitOf(t, lock, item)
	profile := setup.Profile
	key := func(id string) string { i, _ := profile.ControlIndex(id); return profile.Controls[i].Key }
	_, log, result := pressed(t, setup, key("doors"), key("harness"), key("doors"))
	blocked := kinds(log, logbook.Blocked)
	if len(blocked) != 1 || blocked[0].Control != "doors" || blocked[0].Position != "open" || blocked[0].Seat != logbook.Trainee {
		t.Errorf("blocked: %v", blocked)
	}
	if moved := kinds(log, logbook.Moved); len(moved) != 2 || result.Strays != 0 || result.Items[0].Outcome != score.Right {
		t.Errorf("moved %v, %d strays, %s", moved, result.Strays, result.Items[0].Outcome)
	}
	// The other pilot, whose procedure moves them the other way round, leaves the item in the end, and the sitting goes on.
	item.Set = aircraft.Put("doors", "closed", "harness", "fastened")
	setup = cockpitOf(t, lock, item)
	setup.Policy = scenario.Watch
	s := setup.Through(t, perfect(), nil)
	if len(kinds(s.Log, logbook.Blocked)) == 0 || len(kinds(s.Log, logbook.TimedOut)) != 1 || !s.Result.Completed {
		t.Errorf("the other pilot: %d blocked, completed %v", len(kinds(s.Log, logbook.Blocked)), s.Result.Completed)
	}
}

// A horn that a control silences is silenced as by the key, and the press of it is no stray.
func TestMutedByAControl(t *testing.T) {
	item := procedure.Item{ID: "battery", Challenge: "Battery", Response: "On", Set: aircraft.Put("battery", "on"), Expect: []string{"low_nr"}}
	setup := cockpitOf(t, func(*aircraft.Profile) {}, item, procedure.Item{ID: "horn", Challenge: "Horn", Response: "Silenced", Confirm: "not low_nr"})
	profile := setup.Profile
	key := func(id string) string { i, _ := profile.ControlIndex(id); return profile.Controls[i].Key }
	_, log, result := pressed(t, setup, key("battery"), key("horn_mute"))
	silenced := kinds(log, logbook.Silence)
	if len(silenced) != 1 || silenced[0].Name != "low_nr" || silenced[0].Seat != logbook.Trainee || result.Strays != 0 {
		t.Errorf("silenced %v, %d strays", silenced, result.Strays)
	}
	hushed := slices.ContainsFunc(log, func(e logbook.Entry) bool {
		return e.Kind == logbook.CueEnd && e.Name == "low_nr" && e.At == silenced[0].At
	})
	if !hushed {
		t.Error("it goes on to sound")
	}
	// A bell that began to sound after it goes on.
	_, log, _ = pressed(t, setup, key("battery"), key("fire_test"), key("horn_mute"))
	silenced = kinds(log, logbook.Silence)
	if len(silenced) != 1 || silenced[0].Name != "low_nr" {
		t.Fatalf("silenced %v", silenced)
	}
	for _, e := range log {
		if e.Kind == logbook.CueEnd && e.Class == logbook.Horn && (e.Name == "low_nr") != (e.At == silenced[0].At) {
			t.Errorf("at %v, when low_nr was silenced at %v, %s stopped", e.At, silenced[0].At, e.Name)
		}
	}
	if !slices.ContainsFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Cue && e.Name == "fire_bell" }) {
		t.Error("no bell sounded")
	}
}

// Nobody is asked about what is out of sight, on paper or at the desk.
func TestOutOfSight(t *testing.T) {
	for seen, asked := range map[string]int{"not harness": 1, "harness": 0, "": 1} {
		setup := cockpitOf(t, func(p *aircraft.Profile) {
			i, _ := p.FactIndex("guard_posted")
			p.Outside[i].Seen = seen
		}, procedure.Item{ID: "guard", Challenge: "Fire guard", Response: "Posted", Confirm: "guard_posted"})
		s := setup.Through(t, perfect(), nil)
		if n := len(kinds(s.Log, logbook.Ask)); n != asked || len(kinds(s.Log, logbook.Skip)) != 1-asked {
			t.Errorf("seen while %q: asked %d times", seen, n)
		}
	}
}
