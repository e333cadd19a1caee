package drill_test

import (
	"slices"
	"testing"
	"time"

	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
)

// inTheHover is alerts in the hover with look-alikes and abnormals at times of it, and what the aircraft was as each came in.
func inTheHover(t *testing.T, answers *scenario.Answers, injections ...scenario.Injection) (*drilltest.Sitting, map[time.Duration][2]float64) {
	t.Helper()
	setup := droop(t, func(ab *scenario.Abnormal) { ab.Afterwards, ab.Reset = nil, "" })
	setup.Scenario.Injections = injections
	shown := map[time.Duration][2]float64{}
	scope := setup.Profile.Scope()
	return setup.Through(t, answers, func(at time.Duration, craft *aircraft.Aircraft) {
		r := craft.Readings()
		shown[at] = [2]float64{r[scope["collective"].Slot], r[scope["height"].Slot]}
	}), shown
}

// A landing that was done about one abnormal is not where the next one begins: the crew says that the exercise is reset, puts the
// controls back, in the log, and the next one waits until the aircraft hovers at rest.
func TestTheNextAbnormalFindsTheHover(t *testing.T) {
	low := func(at time.Duration) scenario.Injection {
		return scenario.Injection{Abnormal: "low-rotor-hover", At: at}
	}
	s, shown := inTheHover(t, perfect(), low(5*time.Second), low(6*time.Second), low(7*time.Second))
	first := shown[aircraft.StepLength]
	var over time.Duration
	injected := 0
	for i, e := range s.Log {
		switch e.Kind {
		case logbook.Inject:
			injected++
			if got := shown[e.At-aircraft.StepLength]; got[0] != first[0] || got[1] < 0.9*first[1] || got[1] > 1.1*first[1] {
				t.Errorf("number %d comes in at collective %.0f, %.2f m; it hovered at %.0f, %.2f m", injected, got[0], got[1], first[0], first[1])
			}
			if over > 0 && e.At < over+3*time.Second {
				t.Errorf("number %d comes in %v after the one before", injected, e.At-over)
			}
		case logbook.Handled:
			over = e.At
			if moved := s.Log[i+1]; moved.Kind != logbook.Moved || moved.Seat != logbook.Instructor {
				t.Errorf("nobody puts anything back: %v", moved)
			}
		case logbook.Action:
			if e.Why == logbook.Already {
				t.Errorf("an action was done as it began: %v", e)
			}
		}
	}
	if injected != 3 || s.Result.Handling.Handled != 3 {
		t.Errorf("%d came in, %d were handled", injected, s.Result.Handling.Handled)
	}
}

// While the crew says that it is reset, no hand moves a control; afterwards it does.
func TestHandsAreOffWhileTheCrewResets(t *testing.T) {
	low := scenario.Injection{Abnormal: "low-rotor-hover", At: 5 * time.Second}
	s, _ := inTheHover(t, perfect(), low)
	handled := slices.IndexFunc(s.Log, func(e logbook.Entry) bool { return e.Kind == logbook.Handled })
	over := s.Log[handled].At
	answers := perfect()
	answers.Answers = []scenario.Answer{
		{At: over + 300*time.Millisecond, Press: []string{"shift+z"}},
		{At: over + 8*time.Second, Press: []string{"shift+z"}},
	}
	s, shown := inTheHover(t, answers, low, scenario.Injection{Abnormal: "low-rotor-hover", At: 2 * time.Minute})
	blocked := kinds(s.Log, logbook.Blocked)
	if len(blocked) != 1 || blocked[0].Control != "collective" || blocked[0].Why != logbook.Reset || blocked[0].Seat != logbook.Trainee {
		t.Errorf("blocked: %v", blocked)
	}
	before, after := shown[(over+7*time.Second).Truncate(aircraft.StepLength)], shown[(over+9*time.Second).Truncate(aircraft.StepLength)]
	if before[0] != 60 || after[0] != 50 {
		t.Errorf("collective %.0f, then %.0f", before[0], after[0])
	}
	// What was moved with nothing wrong is put back as well before anything else comes.
	back := slices.IndexFunc(s.Log, func(e logbook.Entry) bool { return e.Kind == logbook.Cue && e.Text == scenario.ControlsReset })
	next := slices.IndexFunc(s.Log, func(e logbook.Entry) bool { return e.Kind == logbook.Inject && e.Injection == "low-rotor-hover#2" })
	if back < 0 || next < back {
		t.Fatalf("reset at entry %d, the next came at %d", back, next)
	}
	if got := shown[s.Log[next].At-aircraft.StepLength]; got[0] != 60 {
		t.Errorf("the next came in at collective %.0f", got[0])
	}
	// Then the hands are off as well, until it has been said.
	answers.Answers = append(answers.Answers, scenario.Answer{At: s.Log[back].At + 300*time.Millisecond, Press: []string{"shift+z"}})
	s, _ = inTheHover(t, answers, low, scenario.Injection{Abnormal: "low-rotor-hover", At: 2 * time.Minute})
	if blocked := kinds(s.Log, logbook.Blocked); len(blocked) != 2 || blocked[1].Why != logbook.Reset {
		t.Errorf("blocked: %v", blocked)
	}
}

// Of what an abnormal names to be put back, a flow gets back what was moved since it came, or is done again, and nothing else.
func TestOnlyWhatIsNeededIsPutBack(t *testing.T) {
	for _, c := range []struct {
		keys []string // of somebody who deals with it
		want []string // controls that the crew moves
	}{
		{[]string{","}, nil},
		{[]string{",", "0", "0"}, []string{"lights"}},
	} {
		setup := drilltest.Of(t, deskLibrary(t), "desk-quiet")
		sc := *setup.Scenario
		sc.Injections = []scenario.Injection{{Abnormal: "walker", During: "guard"}}
		setup.Scenario = &sc
		var own []*scenario.Abnormal
		for _, ab := range setup.Abnormals {
			if ab.Name == "walker" {
				changed := *ab
				changed.Afterwards = aircraft.Put("pitot", "on", "lights", "flash")
				ab = &changed
			}
			own = append(own, ab)
		}
		setup.Abnormals = own
		s := setup.Through(t, &scenario.Answers{StartFrom: scenario.Perfect, Answers: []scenario.Answer{{Abnormal: "walker", Press: c.keys}}}, nil)
		var moved []string
		for _, e := range kinds(s.Log, logbook.Moved) {
			if e.Seat == logbook.Instructor {
				moved = append(moved, e.Control)
			}
		}
		if !slices.Equal(moved, c.want) {
			t.Errorf("%v: the crew moved %v; wanted %v", c.keys, moved, c.want)
		}
	}
}

// In a flow the next abnormal waits until what the crew has put back hangs in the air again.
func TestTheNextAbnormalWaitsInAFlow(t *testing.T) {
	setup := droop(t, func(ab *scenario.Abnormal) {
		ab.Reset, ab.Afterwards, ab.Handled = "", aircraft.Put("collective", "60"), "height < 1"
	})
	setup.Policy = scenario.Watch
	setup.Scenario.Injections[0].At, setup.Scenario.Injections[1].At = 2*time.Second, 3*time.Second
	climb := map[time.Duration]float64{}
	s := setup.Through(t, perfect(), func(at time.Duration, craft *aircraft.Aircraft) {
		climb[at] = craft.Readings()[setup.Profile.Scope()["climb"].Slot]
	})
	injected := kinds(s.Log, logbook.Inject)
	if len(injected) != 2 {
		t.Fatalf("%d came in", len(injected))
	}
	over := kinds(s.Log, logbook.Handled)[0].At
	fastest := 0.0
	for at := over; at < injected[1].At; at += aircraft.StepLength {
		fastest = max(fastest, climb[at])
	}
	if got := climb[injected[1].At]; fastest < 0.5 || got > 0.3 || got < -0.3 {
		t.Errorf("it climbed at %.2f m/s, and at %.2f as the next came in", fastest, got)
	}
}
