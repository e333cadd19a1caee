package drill_test

import (
	"slices"
	"testing"
	"time"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench"
	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

// answerItems are items for whoever goes by memory: switches, and confirmations whose place among them a test chooses.
func answerItems(order ...string) (items []procedure.Item) {
	for _, id := range order {
		it := procedure.Item{ID: id, Challenge: id, Response: "Done"}
		switch id {
		case "doors":
			it.Set = aircraft.Put("doors", "closed")
		case "belts":
			it.Set = aircraft.Put("harness", "fastened")
		case "brake":
			it.Set = aircraft.Put("rotor_brake", "off")
		case "lights":
			it.Set = aircraft.Put("lights", "flash")
		case "bright":
			it.Set = aircraft.Put("lights", "all")
		default:
			it.Confirm = "area_clear"
		}
		items = append(items, it)
	}
	return items
}

// Somebody who goes by memory answers what comes next, where that takes an answer; otherwise the next that does, since having left one out is
// likelier than having come back to it; and one that was left out if no other is left.
func TestWhichItemAnAnswerIsFor(t *testing.T) {
	for _, c := range []struct {
		items []string
		keys  []string
		want  []string // items that were answered, in order
	}{
		{[]string{"a", "doors", "b"}, []string{"enter", "n", "enter"}, []string{"a", "b"}},
		{[]string{"doors", "a", "b"}, []string{"n", "enter", "enter"}, []string{"a", "b"}},
		{[]string{"doors", "a", "b"}, []string{"enter", "enter", "n"}, []string{"a", "b"}},
		{[]string{"a", "doors", "belts", "b"}, []string{"n", "enter"}, []string{"a"}}, // whose turn it is
		{[]string{"lights", "a", "doors", "belts", "b"}, []string{"n", "enter"}, []string{"b"}},
		{[]string{"a", "doors", "b", "belts"}, []string{"n", "enter", "m"}, []string{"b"}},
		{[]string{"a", "b", "doors", "belts"}, []string{"n", "enter", "enter", "m"}, []string{"a", "b"}},
		{[]string{"doors", "a", "belts", "b"}, []string{"m", "enter"}, []string{"b"}},
		{[]string{"a", "doors"}, []string{"n", "enter"}, []string{"a"}}, // nothing comes after the last one
	} {
		setup := cockpitOf(t, func(*aircraft.Profile) {}, answerItems(c.items...)...)
		setup.Policy = scenario.Recall
		_, log, _ := pressed(t, setup, c.keys...)
		var got []string
		for _, e := range kinds(log, logbook.Answer) {
			got = append(got, e.Item)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%v, %v: the answers were for %v, wanted %v", c.items, c.keys, got, c.want)
		}
	}
}

// After an abnormal the first thing to be done or said shows whether somebody has found their place. From memory an answer that nothing
// asks for says again what was said last; a switch that nothing wants says nothing.
func TestTheFlowIsResumedFromMemory(t *testing.T) {
	for _, c := range []struct {
		items []string
		key   string
		want  string // item and how, of the first thing after it; empty: it is not resumed by that
	}{
		{[]string{"a", "brake", "lights"}, "enter", "a twice"},
		{[]string{"a", "brake", "lights"}, "backspace", "a twice"},
		{[]string{"a", "brake", "lights"}, "w", ""},
		{[]string{"a", "brake", "lights"}, "'", "brake right"},
		{[]string{"a", "brake", "lights"}, "0", "lights wrong"},
		{[]string{"doors", "brake", "lights"}, "enter", ""}, // what was done last is nothing to say
		{[]string{"a", "brake", "b"}, "enter", "b wrong"},
	} {
		setup := drilltest.Of(t, deskLibrary(t), "desk-quiet")
		sc := *setup.Scenario
		sc.Injections = []scenario.Injection{{Abnormal: "walker", During: "brake", After: 500 * time.Millisecond}}
		setup.Scenario, setup.Policy = &sc, scenario.Recall
		setup.Procedure = &procedure.Procedure{Name: "short", Title: "Short", Profile: setup.Profile.Name, Phases: []procedure.Phase{
			{ID: "all", Title: "All", Items: answerItems(c.items...)},
		}}
		s := compiled(t, setup.Documents).begin()
		var log []logbook.Entry
		press := func(at time.Duration, keys ...string) {
			for i, key := range keys {
				p, err := drill.ParsePress(key)
				if err == nil {
					err = s.Input(at+time.Duration(i)*300*time.Millisecond, p)
				}
				if err != nil {
					t.Fatal(err)
				}
			}
			for _, o := range s.Outputs() {
				if l, ok := o.(drill.Log); ok {
					log = append(log, l.Entry)
				}
			}
		}
		first := "enter"
		if c.items[0] == "doors" {
			first = "n"
		}
		press(time.Second, first)
		press(3*time.Second, "stop", ",", "0", "0")
		press(8*time.Second, c.key)
		if len(kinds(log, logbook.Handled)) != 1 {
			t.Fatalf("%v, %s: nothing was handled: %v", c.items, c.key, log)
		}
		got := ""
		for _, e := range kinds(log, logbook.Resumed) {
			got = e.Item + " " + string(e.Why)
		}
		if got != c.want {
			t.Errorf("%v, %s: %q; wanted %q", c.items, c.key, got, c.want)
		}
	}
}

// An instructor takes out what they name and what has not come yet, and nothing else.
func TestAnInstructorDeletesWhatTheyName(t *testing.T) {
	for _, c := range []struct {
		at   time.Duration
		what string
		came []string
	}{
		{time.Second, "blip", []string{"walker"}},
		{time.Second, "walker", []string{"blip", "blip"}},
		{time.Second, "nothing", []string{"blip", "blip", "walker"}},
		{5100 * time.Millisecond, "blip", []string{"blip", "walker"}}, // one is in the aircraft
	} {
		ex, err := drill.Compile(deskDocuments(t, "desk-alerts", func(docs *drill.Documents) {
			docs.Scenario.Drawn = nil
			docs.Scenario.Injections = []scenario.Injection{{Abnormal: "blip", At: 5 * time.Second}, {Abnormal: "blip", At: 30 * time.Second}, {Abnormal: "walker", At: 60 * time.Second}}
		}))
		if err != nil {
			t.Fatal(err)
		}
		s := ex.Begin(1, 0)
		var came []string
		for _, at := range []time.Duration{c.at, 20 * time.Second, 3 * time.Minute} {
			if at == c.at {
				err = s.Input(at, drill.Instruct{Do: drill.Delete, What: c.what})
			} else {
				err = s.Advance(at)
			}
			if err != nil {
				t.Fatal(err)
			}
			for _, o := range s.Outputs() {
				if l, ok := o.(drill.Log); ok && l.Entry.Kind == logbook.Inject {
					came = append(came, l.Entry.Abnormal)
				}
			}
		}
		if !slices.Equal(came, c.came) {
			t.Errorf("%s taken out at %v: %v came, wanted %v", c.what, c.at, came, c.came)
		}
	}
}

// Who goes by memory and takes a switch on to where the next item wants it has undone nothing; who takes it anywhere else has.
func TestTakenOnFromMemory(t *testing.T) {
	for _, c := range []struct {
		items, keys, done, undone []string
	}{
		{[]string{"doors", "lights", "bright", "a"}, []string{"0", "0"}, []string{"lights", "bright"}, nil},
		{[]string{"doors", "lights", "bright", "a"}, []string{"0", "shift+0"}, []string{"lights"}, []string{"lights"}},
		{[]string{"doors", "lights", "a", "bright"}, []string{"0", "0"}, []string{"lights", "bright"}, nil},
		{[]string{"doors", "lights", "a", "brake"}, []string{"0", "0"}, []string{"lights"}, []string{"lights"}},
		{[]string{"doors", "belts", "a"}, []string{"m", "m", "m"}, []string{"belts", "belts"}, []string{"belts"}},
	} {
		setup := cockpitOf(t, func(*aircraft.Profile) {}, answerItems(c.items...)...)
		setup.Policy = scenario.Recall
		_, log, _ := pressed(t, setup, c.keys...)
		of := func(kind logbook.Kind) (items []string) {
			for _, e := range kinds(log, kind) {
				items = append(items, e.Item)
			}
			return items
		}
		if done, undone := of(logbook.Done), of(logbook.Undone); !slices.Equal(done, c.done) || !slices.Equal(undone, c.undone) {
			t.Errorf("%v, %v: done %v, undone %v; wanted %v and %v", c.items, c.keys, done, undone, c.done, c.undone)
		}
	}
}

// An abnormal that leads back to the very item in whose turn it came has that asked anew, whether the trainee noticed it or not.
func TestBackToTheItemOfTheTurn(t *testing.T) {
	for _, noticed := range []bool{false, true} {
		docs := deskDocuments(t, "desk-walker-back", func(docs *drill.Documents) {
			docs.Scenario.Injections = []scenario.Injection{{Abnormal: "walker-back", During: "harness", After: 100 * time.Millisecond}}
		})
		for i, ab := range docs.Abnormals {
			if ab.Name == "walker-back" {
				short := *ab
				short.Timeout, short.Ends, short.Afterwards = 3*time.Second, nil, nil
				docs.Abnormals[i] = &short
			}
		}
		s := compiled(t, docs).begin()
		keys := map[time.Duration]drill.Key{time.Second: "'"}
		if noticed {
			keys[4*time.Second] = ","
		}
		var asked []string
		for at := time.Duration(0); at < 12*time.Second; at += 500 * time.Millisecond {
			err := s.Advance(at)
			if key, ok := keys[at]; ok {
				err = s.Input(at, drill.Press{Key: key})
			}
			if err != nil {
				t.Fatal(err)
			}
			for _, o := range s.Outputs() {
				if l, ok := o.(drill.Log); ok && (l.Entry.Kind == logbook.Ask || l.Entry.Kind == logbook.Lost || l.Entry.Kind == logbook.Handled) {
					asked = append(asked, string(l.Entry.Kind)+" "+l.Entry.Item)
				}
			}
		}
		want := []string{"ask brake", "ask harness", "lost harness", "ask harness"}
		if noticed {
			want = []string{"ask brake", "ask harness", "handled harness"}
		}
		if !slices.Equal(asked, want) {
			t.Errorf("noticed %v: %v; wanted %v", noticed, asked, want)
		}
	}
}

// A screen shows how long an answer may take, but for the call of a value: its time runs from the passing, which is for the trainee to see.
func TestTheTimeThatIsShown(t *testing.T) {
	for name, timed := range map[string]map[string]bool{
		"desk-quiet":    {"brake": true, "guard": true, "fuel": true, "other": true, "pressure": false},
		"rundown-quiet": {"cut": true, "eighty-five": false},
	} {
		setup := drilltest.Of(t, deskLibrary(t), name)
		seen := map[string]time.Duration{}
		ex, err := drill.Compile(setup.Documents)
		if err != nil {
			t.Fatal(err)
		}
		s := ex.Begin(setup.Seed, setup.Lead)
		hand, err := bench.NewTrainee(ex, s, perfect())
		if err != nil {
			t.Fatal(err)
		}
		var v drill.View
		err = drill.Run(s, hand, drill.EstimatedLength, func(drill.Output) error {
			if s.View(&v); v.Asked != nil {
				seen[v.Asked.Item] = v.Asked.Within
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		for item, want := range timed {
			if within, asked := seen[item]; !asked || (within > 0) != want {
				t.Errorf("%s: %s is to be answered within %v", name, item, within)
			}
		}
	}
}

// From memory an item counts as forgotten after half a minute, or twice its time where that is longer.
func TestForgottenFromMemory(t *testing.T) {
	for within, after := range map[time.Duration]time.Duration{
		0: 30 * time.Second, 10 * time.Second: 30 * time.Second, 15 * time.Second: 30 * time.Second, 20 * time.Second: 40 * time.Second, 45 * time.Second: 90 * time.Second,
	} {
		items := answerItems("doors", "a")
		items[0].Within = within
		setup := cockpitOf(t, func(*aircraft.Profile) {}, items...)
		setup.Policy = scenario.Recall
		_, log, _ := pressed(t, setup)
		asked, given := kinds(log, logbook.Ask)[0], kinds(log, logbook.TimedOut)[0]
		if got := given.At - asked.At; given.Item != "doors" || got != after {
			t.Errorf("within %v: %s is given up after %v, wanted %v", within, given.Item, got, after)
		}
	}
}

// What does not apply has not to be right before anything, also where nobody asks and its turn has not come.
func TestWhatDoesNotApplyHoldsNothing(t *testing.T) {
	for when, held := range map[string]int{"": 1, "oat > 5": 1, "oat < 5": 0} {
		items := answerItems("doors", "brake", "lights")
		items[1].When, items[1].Hold = when, "lights"
		setup := cockpitOf(t, func(*aircraft.Profile) {}, items...)
		setup.Policy = scenario.Recall
		_, log, _ := pressed(t, setup, "0")
		if got := kinds(log, logbook.Held); len(got) != held {
			t.Errorf("when %q: held %v", when, got)
		}
		// Nor is a switch for it that is moved ahead of its turn.
		for _, policy := range []scenario.PolicyName{scenario.Prompted, scenario.Recall} {
			setup.Policy = policy
			_, log, _ = pressed(t, setup, "'")
			if strays := len(kinds(log, logbook.Stray)); strays != 1-held {
				t.Errorf("when %q, %s: %d strays", when, policy, strays)
			}
		}
	}
}

// Items of one group are in their place in whatever order they are done, also at the very beginning: they are echoed, and called right.
func TestAGroupAtTheBeginning(t *testing.T) {
	for group, right := range map[string]bool{"seats": true, "": false} {
		items := answerItems("doors", "belts", "a")
		items[0].Group, items[1].Group = group, group
		setup := cockpitOf(t, func(*aircraft.Profile) {}, items...)
		s := compiled(t, setup.Documents).begin()
		var v drill.View
		echoed := 0
		if err := s.Input(2*time.Second, drill.Press{Key: "m"}); err != nil {
			t.Fatal(err)
		}
		s.View(&v)
		for _, o := range s.Outputs() {
			if say, ok := o.(drill.Say); ok && say.Voice == drill.Responder {
				echoed++
			}
		}
		if v.Last.Item != "belts" || v.Last.Right != right || (echoed == 1) != right {
			t.Errorf("group %q: %+v, %d echoed", group, v.Last, echoed)
		}
	}
}
