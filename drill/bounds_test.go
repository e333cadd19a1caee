package drill_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// deskDocuments is the documents of a scenario of the tests, changed.
func deskDocuments(t *testing.T, name string, change func(*drill.Documents)) drill.Documents {
	t.Helper()
	builtin, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	lib, err := builtin.With("testdata/desk")
	if err != nil {
		t.Fatal(err)
	}
	docs := drilltest.Of(t, lib, name).Documents
	sc, proc := *docs.Scenario, *docs.Procedure
	docs.Scenario, docs.Procedure = &sc, &proc
	change(&docs)
	return docs
}

// A sitting takes as many items and injections as its bounds say, and one more is refused, with the number and what it may be.
func TestBoundsOfAnExercise(t *testing.T) {
	items := func(n int) func(*drill.Documents) {
		return func(docs *drill.Documents) {
			one := docs.Procedure.Phases[0].Items[0]
			ph := procedure.Phase{ID: "many", Title: "Many"}
			for i := range n {
				it := one
				it.ID = fmt.Sprintf("item-%d", i)
				ph.Items = append(ph.Items, it)
			}
			docs.Procedure.Phases = []procedure.Phase{ph}
		}
	}
	injections := func(n int) func(*drill.Documents) {
		return func(docs *drill.Documents) {
			for range n {
				docs.Scenario.Injections = append(docs.Scenario.Injections, scenario.Injection{Abnormal: "blip", At: time.Second})
			}
		}
	}
	for _, c := range []struct {
		what   string
		change func(*drill.Documents)
		wanted string // in the error; empty: none
	}{
		{"400 items", items(400), ""},
		{"401 items", items(401), "401 items; a sitting takes at most 400"},
		{"40 injections", injections(40), ""},
		{"41 injections", injections(41), "41 injections; a sitting takes at most 40"},
		{"two at fault", func(docs *drill.Documents) { items(401)(docs); injections(41)(docs) }, "401 items"}, // the first is told
		{"an injection during its first item", func(docs *drill.Documents) {
			docs.Scenario.Injections = []scenario.Injection{{Abnormal: "blip", During: "doors"}}
		}, ""},
		{"one during none of its items", func(docs *drill.Documents) {
			docs.Scenario.Injections = []scenario.Injection{{Abnormal: "blip", During: "nothing"}}
		}, `no item "nothing" is gone through`},
		{"one during none, where nothing flows", func(docs *drill.Documents) {
			docs.Scenario.Injections, docs.Policy = []scenario.Injection{{Abnormal: "blip", During: "nothing"}}, scenario.Alerts
		}, ""},
		{"one that there is not", func(docs *drill.Documents) {
			docs.Scenario.Injections = []scenario.Injection{{Abnormal: "nothing"}}
		}, `no abnormal "nothing"`},
	} {
		_, err := drill.Compile(deskDocuments(t, "terse", c.change))
		if c.wanted == "" && err != nil || c.wanted != "" && (err == nil || !strings.Contains(err.Error(), c.wanted)) {
			t.Errorf("%s: %v; wanted %q", c.what, err, c.wanted)
		}
	}
}

// What an instructor inserts is bounded too: twice as many as a scenario may have, and no more, however often the key is pressed.
func TestInsertedWithoutEnd(t *testing.T) {
	ex, err := drill.Compile(deskDocuments(t, "terse", func(*drill.Documents) {}))
	if err != nil {
		t.Fatal(err)
	}
	s := ex.Begin(1, 0)
	came := 0
	for at := time.Second; at < 5*time.Minute; at += time.Second {
		if err := s.Input(at, drill.Instruct{Do: drill.Insert, What: "blip"}); err != nil {
			t.Fatal(err)
		}
		for _, o := range s.Outputs() {
			if l, ok := o.(drill.Log); ok && l.Entry.Kind == logbook.Inject {
				came++
			}
		}
	}
	if came != 2*drill.MaxInjections {
		t.Errorf("%d came; wanted %d", came, 2*drill.MaxInjections)
	}
}

// A sitting lasts three hours at the most, and says why it ended.
func TestThreeHoursAtTheMost(t *testing.T) {
	if testing.Short() {
		t.Skip("540,000 steps of the aircraft")
	}
	ex, err := drill.Compile(deskDocuments(t, "terse", func(docs *drill.Documents) { // waits for what comes too late
		docs.Policy, docs.Scenario.Injections = scenario.Alerts, []scenario.Injection{{Abnormal: "blip", At: drill.MaxLength}}
	}))
	if err != nil {
		t.Fatal(err)
	}
	s := ex.Begin(1, 0)
	for at := time.Duration(0); at < drill.MaxLength; at += time.Minute {
		if err := s.Advance(at); err != nil {
			t.Fatal(err)
		}
		s.Outputs()
	}
	if s.Ended() {
		t.Fatal("it ended before its three hours")
	}
	if err := s.Advance(drill.MaxLength - time.Nanosecond); err != nil || s.Ended() {
		t.Fatalf("ended a moment before its three hours, error %v", err)
	}
	if err := s.Advance(drill.MaxLength); err != nil || !s.Ended() {
		t.Fatalf("ended %v, error %v; wanted it to have ended", s.Ended(), err)
	}
	var end logbook.Entry
	for _, o := range s.Outputs() {
		if l, ok := o.(drill.Log); ok && l.Entry.Kind == logbook.End {
			end = l.Entry
		}
	}
	if end.Why != logbook.TooLong || end.OK || end.At != drill.MaxLength {
		t.Errorf("%+v", end)
	}
}
