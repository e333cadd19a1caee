package drill_test

import (
	"slices"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// withOne is alerts in the hover in which one abnormal comes in after two seconds, in a profile that has no tone but those that are kept.
func withOne(t *testing.T, kept []string, change func(*scenario.Abnormal)) drilltest.Setup {
	t.Helper()
	setup := drilltest.Of(t, deskLibrary(t), "desk-levers")
	quiet := *setup.Scenario
	quiet.Injections, quiet.Policy = nil, scenario.Prompted
	b := library.Bundle{Profile: setup.Profile, Procedure: setup.Procedure, Scenario: &quiet}
	own, err := library.Unpack(b.Pack())
	if err != nil {
		t.Fatal(err)
	}
	own.Profile.Alerts = slices.DeleteFunc(own.Profile.Alerts, func(a aircraft.Alert) bool { return !slices.Contains(kept, a.ID) })
	if err := own.Profile.Compile().Err(); err != nil {
		t.Fatal(err)
	}
	setup.Profile = own.Profile
	for _, ab := range setup.Abnormals {
		if ab.Name == "levers" {
			changed := *ab
			changed.Actions, changed.Also, changed.Worse, changed.Ends, changed.Timeout = nil, nil, nil, nil, 8*time.Second
			change(&changed)
			changed.Profile = setup.Profile.Name
			setup.Abnormals = []*scenario.Abnormal{&changed}
			return setup
		}
	}
	t.Fatal("no such abnormal")
	return setup
}

// An abnormal begins with the first of what shows it, whatever kind that is: a tone, a caption or a gauge.
func TestWhatShowsAnAbnormalFirst(t *testing.T) {
	for _, c := range []struct {
		failure string
		kept    []string
		class   logbook.Class
		name    string
	}{
		{"eng1.chip", nil, logbook.Caption, "chip1"},
		{"eng1.chip", []string{"chime"}, logbook.Horn, "chime"},
		{"eng1.fire", nil, logbook.Caption, "fire1"},
		{"eng1.fire", []string{"fire_bell"}, logbook.Horn, "fire_bell"},
		{"eng1.oil_leak", nil, logbook.Gauge, "oil_press1"},
	} {
		setup := withOne(t, c.kept, func(ab *scenario.Abnormal) {
			ab.Cause, ab.Cues = []scenario.Cause{{Failure: c.failure, To: 1}}, []string{c.name}
			ab.Actions = []scenario.Action{{Set: aircraft.Put("pitot", "off"), Within: 5 * time.Second, Say: "Pitot"}}
		})
		s := setup.Through(t, &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"levers"}}, nil)
		onsets := kinds(s.Log, logbook.Onset)
		if len(onsets) != 1 || onsets[0].Class != c.class || onsets[0].Name != c.name || (onsets[0].Cue > 0) != (c.class != logbook.Gauge) {
			t.Errorf("%s, with %v: %v; wanted %s %s", c.failure, c.kept, onsets, c.class, c.name)
		}
	}
}

// Silencing the tone that an abnormal began with, or one that it names, has to do with it; silencing another one has not.
func TestWhichToneHasToDoWithIt(t *testing.T) {
	for _, c := range []struct {
		failure string
		cues    []string
		want    int // actions done by silencing
	}{
		{"eng1.fire", []string{"fire1", "fire_bell"}, 1},
		{"eng1.fire", []string{"fire1"}, 1}, // it began with the bell, named or not
	} {
		setup := withOne(t, []string{"fire_bell"}, func(ab *scenario.Abnormal) {
			ab.Cause, ab.Cues = []scenario.Cause{{Failure: c.failure, To: 1}}, c.cues
			ab.Actions = []scenario.Action{{Silence: true, Within: 5 * time.Second, Say: "Silence"}, {Set: aircraft.Put("pitot", "off"), Within: 5 * time.Second, Say: "Pitot"}}
		})
		answers := &scenario.Answers{StartFrom: scenario.Perfect, Answers: []scenario.Answer{{Abnormal: "levers", After: 2 * time.Second, Press: []string{"space"}}}}
		s := setup.Through(t, answers, nil)
		if actions := kinds(s.Log, logbook.Action); len(actions) != c.want {
			t.Errorf("%s, %v: %v", c.failure, c.cues, actions)
		}
	}
}

// While the crew only says how it ended, and has moved nothing, the hands of the trainee stay on.
func TestHandsStayOnWhereNothingIsMoved(t *testing.T) {
	setup := withOne(t, nil, func(ab *scenario.Abnormal) {
		ab.Cause, ab.Cues = []scenario.Cause{{Failure: "eng1.chip", To: 1}}, []string{"chip1"}
		ab.Actions, ab.Afterwards, ab.Reset = []scenario.Action{{Set: aircraft.Put("lights", "off"), Within: 5 * time.Second, Say: "Lights"}}, nil, ""
	})
	quiet := &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"levers"}}
	lost := kinds(setup.Through(t, quiet, nil).Log, logbook.Lost)
	if len(lost) != 1 {
		t.Fatalf("lost: %v", lost)
	}
	quiet.Answers = []scenario.Answer{{At: lost[0].At + 200*time.Millisecond, Press: []string{"-"}}}
	s := setup.Through(t, quiet, nil)
	if blocked := kinds(s.Log, logbook.Blocked); len(blocked) != 0 || len(kinds(s.Log, logbook.Moved)) == 0 {
		t.Errorf("blocked: %v", blocked)
	}
}

// That everything stands as the actions want it proves nothing until the trainee has done one of them, or the time is over.
func TestWhatStandsAlreadyProvesNothing(t *testing.T) {
	setup := withOne(t, nil, func(ab *scenario.Abnormal) {
		ab.Cause, ab.Cues = []scenario.Cause{{Failure: "eng1.chip", To: 1}}, []string{"chip1"}
		ab.Actions = []scenario.Action{
			{Set: aircraft.Put("pitot", "on"), Within: 5 * time.Second, Say: "Pitot"}, {Set: aircraft.Put("lights", "all"), Within: 5 * time.Second, Say: "Lights"},
		}
		ab.Handled, ab.Afterwards, ab.Reset = "", nil, ""
	})
	for _, c := range []struct {
		press []string
		after time.Duration // the onset; when the last action counts
	}{
		{nil, 8 * time.Second},
		{[]string{"-", "-"}, 3 * time.Second}, // out of its place and back
	} {
		answers := &scenario.Answers{StartFrom: scenario.Perfect, Ignore: []string{"levers"}}
		onset := kinds(setup.Through(t, answers, nil).Log, logbook.Onset)[0].At
		if c.press != nil {
			answers.Answers = []scenario.Answer{{At: onset + 2*time.Second, Press: c.press}}
		}
		var last time.Duration
		for _, e := range kinds(setup.Through(t, answers, nil).Log, logbook.Action) {
			last = e.At
		}
		if got := last - onset; got < c.after-time.Second || got > c.after+time.Second/2 {
			t.Errorf("%v: the last action counts %v after the onset, wanted about %v", c.press, got, c.after)
		}
	}
}
