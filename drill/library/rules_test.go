package library

import (
	"slices"
	"strings"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// What is the same each time can be learnt by heart, and a scenario that interrupts has something in it that is not to be
// acted on.
func TestScenariosDoNotGiveThemselvesAway(t *testing.T) {
	lib := everything(t)
	for _, sc := range lib.Scenarios() {
		if sc.Seed != 0 {
			t.Errorf("%s: what is drawn is the same each time", sc.Name)
		}
		names := sc.Abnormals()
		if len(names) > 0 && !slices.ContainsFunc(names, func(n string) bool { return lib.abnormals[n].doc.Harmless }) {
			t.Errorf("%s: whatever comes in is to be acted on", sc.Name)
		}
		told := words(sc.Title + " " + sc.About)
		for _, name := range names {
			ab := lib.abnormals[name].doc
			for _, word := range words(ab.Title) {
				if telling[word] && slices.Contains(told, word) {
					t.Errorf("%s says %q, and injects %s", sc.Name, word, name)
				}
			}
		}
	}
}

func words(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" ,.:;\n", r) })
}

// telling is the words of titles that would give an abnormal away; the others are those of any start and any hover.
var telling = map[string]bool{
	"fire": true, "hot": true, "hung": true, "fails": true, "failure": true, "low": true, "weak": true, "toppled": true, "question": true,
	"radio": true, "generator": true, "alternator": true, "governor": true, "hydraulic": true, "door": true, "guard": true,
	"light-off": true, "magneto": true, "lamp": true, "slackens": true, "belt": true, "fadec": true, "inverter": true, "horizon": true,
	"filter": true, "somebody": true, "chime": true, "pressure": true, "stuck": true, "drop": true, "peaks": true,
}

// What the flow may not go on without: 14 CFR 121.315 asks for each item that is needed before a start and before lift-off;
// which those are here is our own.
func TestFlowsAreHeld(t *testing.T) {
	held := map[string]map[string][]string{ // procedure: item before which: items
		"dunlin-start": {
			"start-2": {"controls", "collective-lock-on", "rotor-brake", "doors", "fire-light-1", "fire-light-2", "start-volts", "prime", "fuel-pressure", "fire-guard", "rotor-area", "residual-2", "fadec-2"},
			"start-1": {"generator-2", "residual-1"}, "generator-1": {"oil-1", "tot-1", "idle-1"}, "generator-2": {"rotor-turning", "oil-2", "tot-2", "idle-2"},
			"selectors-flight": {"hyd-normal", "oil-temperature"}, "light-on-skids": {"selectors-flight", "captions"},
			"engines-off": {"selectors-idle", "cool-down"}, "lights-off": {"rotor-stopped"},
		},
		"dunlin-auto-start": {
			"start-2":    {"controls", "rotor-brake", "doors", "fire-light-1", "fire-light-2", "start-volts", "prime", "fuel-pressure", "fadecs", "rotor-area"},
			"generators": {"oil-1", "tot-1", "idle-1", "oil-2", "tot-2", "idle-2"}, "light-on-skids": {"selectors-flight", "captions"},
		},
		"turnstone-start": {
			"starter": {"seat", "collective-down", "rotor-brake", "breakers", "fire-light", "start-volts", "feed", "fuel-valve", "valve-guard", "fuel-pressure",
				"residual-tot", "fire-guard", "rotor-area"},
			"generator":     {"rotor-turning", "starter-off", "oil-pressure", "idle"},
			"throttle-open": {"cart-away", "transfer", "hyd-on", "oil-temperature"}, "light-on-skids": {"throttle-open", "captions"},
			"throttle-off": {"cool-down"}, "brake": {"throttle-off"}, "power-off": {"rotor-stopped"},
		},
		"whinchat-start": {
			"starter":    {"seat", "collective-down", "rotor-brake", "breakers", "fuel-valve", "rotor-area"},
			"belt-first": {"oil-pressure", "idle-light"}, "run-up": {"oil-warm"}, "mag-left": {"mag-both-first"}, "split": {"mag-both"},
			"speed-hold": {"horn-check"}, "light-on-skids": {"speed-hold", "governed", "oil-flight", "captions", "collective-lock"},
			"mixture-off": {"cool"}, "power-off": {"rotor-stopped"},
		},
	}
	for _, p := range everything(t).Procedures() {
		p.Each(func(_ *procedure.Phase, it *procedure.Item) {
			for before, ids := range held[p.Name] {
				if i := slices.Index(ids, it.ID); i >= 0 && it.Hold != before {
					t.Errorf("%s: %s is held before %q; wanted %s", p.Name, it.ID, it.Hold, before)
				} else if i >= 0 {
					held[p.Name][before] = slices.Delete(ids, i, i+1)
				}
			}
		})
	}
	for name, holds := range held {
		for before, ids := range holds {
			if len(ids) > 0 {
				t.Errorf("%s has no %v to be held before %s", name, ids, before)
			}
		}
	}
}

// A check that has to be right before the flow goes on, and is rightly refused, leaves something to be done: it is put right,
// or the flow ends.
func TestHeldChecksLeaveAWay(t *testing.T) {
	held := 0
	for _, p := range everything(t).Procedures() {
		p.Each(func(_ *procedure.Phase, it *procedure.Item) {
			if it.Hold == "" || it.Check == "" && it.Confirm == "" {
				return
			}
			if held++; it.IfNot == nil || it.IfNot.Say == "" {
				t.Errorf("%s: %s is held before %s, and nobody says what follows if it is not so", p.Name, it.ID, it.Hold)
			}
		})
	}
	if held == 0 {
		t.Error("no check is held")
	}
}

// After a fire, a loss of oil, a hydraulic failure, a hot or hung start, the words of the crew are those of an exercise: nobody is
// taught to go on. A fire is fought with the power off and the aircraft left behind; no engine is lit again.
func TestNothingTeachesToGoOn(t *testing.T) {
	for _, ab := range everything(t).Abnormals() {
		for _, ill := range []string{"start again", "take it up", "carry on", "fire is out"} {
			if strings.Contains(strings.ToLower(ab.Say), ill) {
				t.Errorf("%s is followed by %q", ab.Name, ab.Say)
			}
		}
		if ab.Profile != "dunlin-lt" || ab.Harmless {
			continue
		}
		if ab.Reset != "" && !strings.HasPrefix(ab.Say, "Exercise reset: ") {
			t.Errorf("%s resets the exercise, and says %q", ab.Name, ab.Say)
		}
		if !strings.HasPrefix(ab.Name, "fire") {
			continue
		}
		for _, last := range []string{"battery", "ext_power", "harness", "doors"} {
			if !acted(ab, last) {
				t.Errorf("%s leaves %s as it is", ab.Name, last)
			}
		}
	}
}

// A peak is how far something has been, and not where it is now.
func TestPeaksAreAskedForAsPeaks(t *testing.T) {
	asked := 0
	for _, p := range everything(t).Procedures() {
		p.Each(func(_ *procedure.Phase, it *procedure.Item) {
			if !strings.Contains(strings.ToLower(it.Challenge), "peak") {
				return
			}
			if asked++; !strings.Contains(it.Check, "tot_peak") {
				t.Errorf("%s: %s is checked by %q", p.Name, it.ID, it.Check)
			}
		})
	}
	if asked == 0 {
		t.Error("no peak is asked for")
	}
}

// Nothing that comes in wants a yes: nobody is to be let near what turns or burns, and a figure is not confirmed under
// pressure.
func TestNothingHarmfulWantsAYes(t *testing.T) {
	for _, ab := range everything(t).Abnormals() {
		for _, a := range ab.Actions {
			if a.Answer == "yes" {
				t.Errorf("%s wants a yes to %q", ab.Name, ab.Call)
			}
		}
	}
}

// Where something has a second of its kind, taking that one for the ill one is named as what makes it worse; no move is
// right and wrong at once; and what the crew says afterwards does not teach to go on.
func TestMovesOfAbnormals(t *testing.T) {
	other := strings.NewReplacer("1", "2", "2", "1")
	for _, ab := range everything(t).Abnormals() {
		worse := map[string]bool{}
		for _, m := range ab.Worse {
			for _, control := range m.Set.Controls() {
				worse[control] = true
			}
		}
		for _, a := range ab.Actions {
			for _, control := range a.Set.Controls() {
				twin := other.Replace(control)
				fits := twin != control && (strings.HasPrefix(control, "lever") || strings.HasPrefix(control, "gen") || strings.HasPrefix(control, "cut"))
				if fits && !worse[twin] && !acted(ab, twin) {
					t.Errorf("%s: %s is to be moved, and moving %s is not named as wrong", ab.Name, control, twin)
				}
			}
		}
		for _, m := range slices.Concat(ab.Also, moves(ab.Actions)) {
			for _, w := range ab.Worse {
				if equal(m.Set, w.Set) {
					t.Errorf("%s: %v is right and makes it worse", ab.Name, m.Set)
				}
			}
		}
		say := strings.ToLower(ab.Say)
		for _, ill := range []string{"fire", "oil", "hydraulic"} {
			// Nobody starts or flies again after one of these: common practice, no source.
			if strings.Contains(ab.Name, ill) && !ab.Harmless && !strings.Contains(say, "reset") {
				t.Errorf("%s is followed by %q", ab.Name, ab.Say)
			}
		}
	}
}

func acted(ab *scenario.Abnormal, control string) bool {
	return slices.ContainsFunc(ab.Actions, func(a scenario.Action) bool { return slices.Contains(a.Set.Controls(), control) })
}

func moves(actions []scenario.Action) (list []scenario.Move) {
	for _, a := range actions {
		if len(a.Set) > 0 {
			list = append(list, scenario.Move{Set: a.Set})
		}
	}
	return list
}

func equal(a, b aircraft.Settings) bool {
	other := func(one aircraft.Setting) bool { return !slices.Contains(b, one) }
	return len(a) == len(b) && !slices.ContainsFunc(a, other)
}

// What interrupts a flow stands in a scenario in the order in which it comes, so that a reader sees what may be open when the next
// is due.
func TestInterruptionsStandInTheOrderOfTheFlow(t *testing.T) {
	lib := everything(t)
	places := map[string]map[string]int{}
	for _, p := range lib.Procedures() {
		place := map[string]int{}
		p.Each(func(_ *procedure.Phase, it *procedure.Item) { place[it.ID] = len(place) })
		places[p.Name] = place
	}
	for _, sc := range lib.Scenarios() {
		last := -1
		for _, in := range sc.Injections {
			at, ok := places[sc.Procedure][in.During]
			if !ok {
				continue
			}
			if at < last {
				t.Errorf("%s: %s comes during %s, before the one above it", sc.Name, in.Abnormal, in.During)
			}
			last = at
		}
	}
}
