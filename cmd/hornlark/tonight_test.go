package main

import (
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill/library"
	"hornlark/drill/practice"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// metAll is somebody who has met everything that can be practised, days ago.
func metAll(e *evening, at time.Time, stability float64) *practice.Known {
	k := practice.NewKnown(practice.DefaultWeights)
	meet := func(things []practice.Thing) {
		for _, t := range things {
			k.States[t] = &practice.State{Memory: practice.Memory{Stability: stability, Difficulty: 5}, Last: at.AddDate(0, 0, -4), Met: 3, Right: 3}
		}
	}
	for i := range e.units {
		meet(e.units[i].Things)
	}
	for i := range e.surprises {
		meet(e.surprises[i].Things)
	}
	return k
}

// Whatever is drawn for the built-in aircraft makes sound scenarios, what comes shows, and one without a mistake handles it. What is said before is
// the same for every draw, and has no title of an abnormal in it.
func TestEveningsOfTheBuiltInAircraft(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2027, 3, 1, 19, 0, 0, 0, time.UTC)
	seeds := uint64(12)
	if testing.Short() {
		seeds = 2
	}
	for _, prof := range lib.Profiles() {
		e, err := openEvening(lib, prof.Name)
		if err != nil {
			t.Fatal(err)
		}
		said, came := "", 0
		for seed := range seeds {
			s := &session{evening: e, options: &tonightOptions{minutes: 25}, known: metAll(e, at, 3), at: at, names: e.namesOf()}
			s.choice = e.choose(s.known, practice.Wish{}, 25*time.Minute, at, seed)
			before := strings.Join(strings.Fields(s.before()), " ") + " " + s.next()
			if said == "" {
				said = before
			}
			if before != said {
				t.Fatalf("%s: another draw says something else before:\n%s\n%s", prof.Name, said, before)
			}
			for _, a := range e.abnormals {
				if strings.Contains(before, a.Title) || strings.Contains(before, a.Name) && a.Name != "radio-call" {
					t.Fatalf("%s: %s is named before:\n%s", prof.Name, a.Name, before)
				}
			}
			for i := range s.choice.Legs {
				leg := &s.choice.Legs[i]
				bundle, err := lib.Bundle(e.made(leg, ""))
				if err != nil {
					t.Fatalf("%s, seed %d: %v", prof.Name, seed, err)
				}
				result := perfectly(t, bundle, leg.Seed)
				for _, in := range result.Injections {
					came++
					switch in.Outcome {
					case score.Handled, score.LeftAlone, score.Unseen, score.Unended:
					default:
						t.Errorf("%s, seed %d, %s: %s is %s", prof.Name, seed, bundle.Scenario.Name, in.Abnormal, in.Outcome)
					}
					if in.Outcome == score.Unseen {
						t.Errorf("%s, seed %d, %s: %s never shows", prof.Name, seed, bundle.Scenario.Name, in.Abnormal)
					}
				}
			}
		}
		if came < int(seeds) {
			t.Errorf("%s: only %d came in %d evenings", prof.Name, came, seeds)
		}
	}
}

// perfectly goes through a scenario without a mistake.
func perfectly(t *testing.T, bundle *library.Bundle, seed uint64) *score.Result {
	t.Helper()
	o := &drillOptions{bundled: bundle, seed: seed, seedSet: true, answers: "perfect", virtual: true, layout: "qwerty"}
	ex, err := o.exercise()
	if err != nil {
		t.Fatalf("%s: %v", bundle.Scenario.Name, err)
	}
	if err := ex.RunVirtual(t.Context(), desk.Virtual{}); err != nil {
		t.Fatalf("%s: %v", bundle.Scenario.Name, err)
	}
	return ex.Judge()
}

// Every abnormal with something wrong in the aircraft is of a family.
func TestEveryAbnormalHasAFamily(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range lib.Abnormals() {
		found := len(a.Cause) == 0
		for _, name := range familyNames() {
			found = found || inFamily(a, name)
		}
		if !found {
			t.Errorf("%s is of no family", a.Name)
		}
	}
}

// The mistakes of last time are those of all sittings of an evening that were not put right in it, of one aircraft; they and nothing else are
// practised by the real command, which names items and no abnormal.
func TestMistakesOfLastTime(t *testing.T) {
	settled(t)
	data := t.TempDir()
	t.Setenv("HORNLARK_DATA", data)
	t.Setenv(clockVariable, "2027-03-05T19:00:00Z")
	tonight := func(args ...string) (string, int) {
		t.Helper()
		var out strings.Builder
		status := run(t.Context(), append([]string{"tonight", "--trainee", "kim"}, args...), streams{in: strings.NewReader(""), out: &out, err: &out})
		return out.String(), status
	}
	began := time.Date(2027, 3, 4, 19, 0, 0, 0, time.UTC)
	keep := func(scenario string, at time.Time, answers *scenario.Answers) {
		t.Helper()
		if err := (&made{data: data, scenario: scenario, trainee: "kim", started: at, answers: answers}).keep(); err != nil {
			t.Fatal(err)
		}
	}
	forgetful := &scenario.Answers{StartFrom: scenario.Perfect, LeaveOut: []string{"anti-collision"}}
	keep("first-start-quiet", began.AddDate(0, 0, -2), &scenario.Answers{StartFrom: scenario.Perfect, LeaveOut: []string{"battery"}}) // long ago
	keep("first-start", began, forgetful)
	keep("limits", began.Add(50*time.Minute), nil)
	out, status := tonight("--mistakes", "--show", "--minutes", "30")
	if status != exitPassed || !strings.Contains(out, "As you wished: what was wrong or late last time, on 2027-03-04") || !strings.Contains(out, "Anti-collision light") {
		t.Errorf("exit status %d:\n%s", status, out)
	}
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range lib.Abnormals() {
		if strings.Contains(out, a.Title) {
			t.Errorf("%q is named:\n%s", a.Title, out)
		}
	}
	if out, status := tonight("--mistakes", "--minutes", "30", "--answers", "perfect", "--virtual", "--seed", "5"); status != exitPassed || !strings.Contains(out, "\nTONIGHT ---") {
		t.Errorf("gone through, exit status %d:\n%s", status, out)
	}
	if out, status := tonight("--mistakes", "--show", "--profile", "turnstone-st"); status != exitUsage || !strings.Contains(out, "nothing of the turnstone-st was wrong or late in what kim did") {
		t.Errorf("another aircraft, exit status %d:\n%s", status, out)
	}
	keep("first-start", began.Add(100*time.Minute), nil) // put right on the same evening
	if out, status := tonight("--mistakes", "--show"); status != exitUsage || !strings.Contains(out, "nothing of the dunlin-lt was wrong or late") {
		t.Errorf("put right, exit status %d:\n%s", status, out)
	}
}

// An evening in real time is kept, is judged like any other sitting, and is what the next one goes by.
func TestAnEveningIsKept(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes half a minute of real time")
	}
	t.Parallel()
	data := t.TempDir()
	hornlark := func(args ...string) string {
		t.Helper()
		cmd := exec.Command(program(t), args...)
		cmd.Env = append(append(os.Environ(), "HORNLARK_DATA="+data, "XDG_CONFIG_HOME="+t.TempDir(), clockVariable+"=2027-03-05T19:00:00Z"), noSound(data)...)
		out, err := cmd.CombinedOutput()
		if err != nil {
			t.Fatalf("%q: %v\n%s", args, err, out)
		}
		return string(out)
	}
	out := hornlark("tonight", "--trainee", "kim", "--minutes", "1", "--limits", "--silent", "--answers", "perfect")
	before, rest, found := strings.Cut(out, "\n1 of 1: 6 limits\n")
	if !found || !strings.Contains(before, "This is the first evening of kim with it.") || !strings.Contains(rest, "kept for kim") {
		t.Errorf("what is said before: %s\nand then: %s", before, rest)
	}
	if _, after, found := strings.Cut(rest, "\nTONIGHT ---"); !found || !strings.Contains(after, "1. 6 limits\n") || !strings.Contains(after, "never met before; now ") || strings.Contains(after, "kept without") {
		t.Errorf("what is said after: %s", after)
	}
	if out := hornlark("tonight", "--trainee", "kim", "--minutes", "1", "--limits", "--show"); strings.Contains(out, "first evening") || !strings.Contains(out, "Never met: 36 of 42.") {
		t.Errorf("the next one: %s", out)
	}
	if out := hornlark("debrief"); !strings.Contains(out, "scenario tonight-limits, policy limits") || !strings.Contains(out, "2027-03-05") {
		t.Errorf("the report: %s", out)
	}
}

// Between two sittings of an evening nothing begins before Enter; who leaves then is told that the one before is kept. Where answers are
// played nobody is waited for.
func TestBetweenSittingsOfAnEvening(t *testing.T) {
	gone, leave := context.WithCancel(t.Context())
	leave()
	never, _ := io.Pipe()
	for name, test := range map[string]struct {
		ctx  context.Context
		in   io.Reader
		o    drillOptions
		want error
	}{
		"Enter":           {t.Context(), strings.NewReader("x y\rz"), drillOptions{}, nil},
		"a line end":      {t.Context(), strings.NewReader("\n"), drillOptions{}, nil},
		"left":            {gone, never, drillOptions{}, errEveningLeft},
		"no more input":   {t.Context(), strings.NewReader("x"), drillOptions{}, errEveningLeft},
		"answers":         {t.Context(), strings.NewReader(""), drillOptions{answers: "perfect"}, nil},
		"without a clock": {t.Context(), strings.NewReader(""), drillOptions{answers: "perfect", virtual: true}, nil},
	} {
		var out strings.Builder
		test.o.in, test.o.out = test.in, &out
		s := &session{options: &tonightOptions{drillOptions: test.o}}
		if err := s.between(test.ctx); !errors.Is(err, test.want) {
			t.Errorf("%s: %v, want %v", name, err, test.want)
		}
		if asked := strings.Contains(out.String(), "Enter begins"); asked != (test.o.answers == "") {
			t.Errorf("%s: it says %q", name, out.String())
		}
	}
}

// What is said in a line of an evening is true of it: what is new is said to be, and nothing is of a watch, which has no things of its own.
func TestNextIsTrue(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	e, err := openEvening(lib, "dunlin-lt")
	if err != nil {
		t.Fatal(err)
	}
	limits := slices.IndexFunc(e.units, func(u practice.Unit) bool { return u.Kind == practice.LimitsUnit })
	met, never := practice.Why{Things: 10, Met: 5, Now: 0.8, Ahead: 0.6}, practice.Why{Things: 10}
	watch := practice.Leg{Kind: practice.AbnormalUnit, Length: 4 * time.Minute}
	flow := func(why ...practice.Why) practice.Leg {
		return practice.Leg{Kind: practice.PhaseUnit, Units: []int{0, 1}[:len(why)], Why: why, Length: 4 * time.Minute}
	}
	asked := func(why practice.Why) practice.Leg {
		return practice.Leg{Kind: practice.LimitsUnit, Units: []int{limits}, Questions: 7, Why: []practice.Why{why}}
	}
	for _, test := range []struct {
		legs []practice.Leg
		want string
	}{
		{[]practice.Leg{watch}, "a watch. Noticing and acting fade like everything else."},
		{[]practice.Leg{flow(never), watch}, "; a watch. None of its phases was met yet."},
		{[]practice.Leg{asked(never)}, "7 limits. None of its limits was met yet."},
		{[]practice.Leg{flow(never), asked(never)}, "None of its phases and limits was met yet."},
		{[]practice.Leg{flow(met, never)}, "Never met yet: 1 phase of it. " + e.units[0].Title + ": 80 % known now, 60 % in 7 days."},
		{[]practice.Leg{flow(never), asked(met)}, "Never met yet: 1 phase of it. Limits: 80 % known now, 60 % in 7 days."},
		{[]practice.Leg{flow(met), asked(never)}, "; 7 limits. " + e.units[0].Title + ": 80 % known now, 60 % in 7 days."},
	} {
		s := &session{evening: e, options: &tonightOptions{minutes: 15}, choice: &practice.Choice{Legs: test.legs}}
		if got := s.next(); !strings.HasSuffix(got, test.want) {
			t.Errorf("%q, want %q", got, test.want)
		}
	}
}
