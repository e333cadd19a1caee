package walk_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/cmd/hornlark/walk"
	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// went goes through a built-in scenario without a clock, and then through its log.
func went(t *testing.T, name string, answers *scenario.Answers) (*walk.Walk, *drilltest.Sitting) {
	t.Helper()
	s := drilltest.Through(t, name, answers, nil, nil)
	inputs := drill.InputsOf(s.Log)
	again := s.Exercise.Begin(s.Seed, s.Lead)
	names := debrief.Names{Gauges: map[string]string{"nr": "ROTOR"}}
	w, err := walk.Through(again, inputs, s.Log[len(s.Log)-1].At, s.Profile, names, s.Result)
	if err != nil {
		t.Fatal(err)
	}
	return w, s
}

func count(log []logbook.Entry, wanted func(*logbook.Entry) bool) (n int) {
	for i := range log {
		if wanted(&log[i]) {
			n++
		}
	}
	return n
}

// Every challenge, key, response, alert and abnormal of a log is a moment, in the order of time, and what can be heard
// again was heard.
func TestEveryEntryHasItsMoment(t *testing.T) {
	for _, name := range []string{"first-start", "hover-alerts", "watch-start", "recall-start", "limits"} {
		w, s := went(t, name, &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"low-rotor-hover"}})
		if !slices.IsSortedFunc(w.Moments, func(a, b walk.Moment) int { return int(a.At - b.At) }) {
			t.Errorf("%s: the moments are not in the order of time", name)
		}
		begins := func(prefix string) int {
			n := 0
			for _, m := range w.Moments {
				if strings.HasPrefix(m.Text, prefix) {
					n++
				}
			}
			return n
		}
		for prefix, kind := range map[string]logbook.Kind{"asked: ": logbook.Ask, "key ": logbook.Press, "ABNORMAL ": logbook.Onset, "done: ": logbook.Done} {
			if got, want := begins(prefix), count(s.Log, func(e *logbook.Entry) bool { return e.Kind == kind }); got != want {
				t.Errorf("%s: %d moments begin with %q, and the log has %d entries %s", name, got, prefix, want, kind)
			}
		}
		horns := count(s.Log, func(e *logbook.Entry) bool { return e.Kind == logbook.Cue && e.Class == logbook.Horn })
		if got := begins("sounds: "); got != horns {
			t.Errorf("%s: %d moments of alerts, and the log has %d", name, got, horns)
		}
		if name == "first-start" && begins("gauge: ROTOR amber") == 0 {
			t.Errorf("%s: the gauge is not called by its name", name)
		}
		heard := map[int]bool{}
		for _, o := range w.Heard {
			switch o := o.(type) {
			case drill.Say:
				heard[o.Cue] = true
			case drill.Sound:
				heard[o.Cue] = true
			}
		}
		for _, m := range w.Moments {
			if m.Cue != 0 && !heard[m.Cue] {
				t.Errorf("%s: nobody was asked to make cue %d of %q heard", name, m.Cue, m.Text)
			}
		}
	}
}

// With everything right nothing is marked; what was left out, and an abnormal that got away, are.
func TestSlipsAreMarked(t *testing.T) {
	slips := func(w *walk.Walk) (list []string) {
		for _, m := range w.Moments {
			if m.Slip {
				list = append(list, m.Text)
			}
		}
		return list
	}
	w, _ := went(t, "first-start", &scenario.Answers{StartFrom: scenario.Perfect})
	if got := slips(w); len(got) > 0 {
		t.Errorf("everything was right, and marked is %q", got)
	}
	w, s := went(t, "first-start", &scenario.Answers{StartFrom: scenario.Perfect, LeaveOut: []string{"anti-collision"}, Ignore: []string{"hot-start"}})
	got := slips(w)
	for _, d := range s.Result.Order.Deviations {
		if !slices.Contains(got, debrief.Departure(d)) {
			t.Errorf("%q is not among what is marked: %q", debrief.Departure(d), got)
		}
	}
	for _, want := range []string{"no answer to anti-collision", "is not recovered"} {
		if !slices.ContainsFunc(got, func(text string) bool { return strings.Contains(text, want) }) {
			t.Errorf("nothing of %q is marked: %q", want, got)
		}
	}
}

// A departure stands right after what it is about, with the view of that moment.
func TestDeparturesStandWhereTheyWereSeen(t *testing.T) {
	late := scenario.Answer{Item: "battery", After: 6 * time.Second, Press: []string{"1"}}
	w, _ := went(t, "first-start", &scenario.Answers{StartFrom: scenario.Perfect, Answers: []scenario.Answer{late}})
	is := func(prefix string) int {
		return slices.IndexFunc(w.Moments, func(m walk.Moment) bool { return strings.HasPrefix(m.Text, prefix) })
	}
	done, departure := is("done: battery"), is("too late: battery")
	if done < 0 || departure < done || w.Moments[departure].At != w.Moments[done].At {
		t.Errorf("battery is done in moment %d, and too late in moment %d", done, departure)
	}
}

// What the aircraft showed at a moment is what it showed then, and not what it showed later: the start of an engine is seen
// in the readings of its speed, and the rotor turns at the end of the flow and not at its beginning.
func TestViewsAreOfTheirMoment(t *testing.T) {
	w, s := went(t, "first-start", &scenario.Answers{StartFrom: scenario.Perfect})
	nr, ok := s.Profile.GaugeIndex("nr")
	if !ok {
		t.Fatal("there is no gauge nr")
	}
	var highest float64
	for _, m := range w.Moments {
		if m.View.At != m.At && !m.Slip {
			t.Errorf("%q at %v has the view of %v", m.Text, m.At, m.View.At)
		}
		highest = max(highest, m.View.Readings[nr])
	}
	if first := w.Moments[0].View.Readings[nr]; first != 0 || highest < 95 {
		t.Errorf("NR is %v at first and %v at most", first, highest)
	}
}
