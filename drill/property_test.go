package drill_test

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// deskPlans compiles the short flows, each under every policy that it makes sense under.
func deskPlans(t testing.TB) []plan {
	lib := deskLibrary(t)
	var plans []plan
	for _, name := range []string{"desk-quiet", "desk-walker", "desk-walker-back", "desk-drawn", "desk-chatter", "desk-question", "desk-passer-by", "desk-held", "desk-alerts"} {
		docs := drilltest.Of(t, lib, name).Documents
		policies := []scenario.PolicyName{scenario.Prompted, scenario.Recall, scenario.Watch}
		if docs.Scenario.Policy == scenario.Alerts {
			policies = []scenario.PolicyName{scenario.Alerts}
		}
		for _, docs.Policy = range policies {
			plans = append(plans, compiled(t, docs))
		}
	}
	return plans
}

// anyPlan draws a plan: one of the short flows, under any policy, with any seed.
func anyPlan(plans []plan) *rapid.Generator[plan] {
	return rapid.Custom(func(rt *rapid.T) plan {
		p := rapid.SampledFrom(plans).Draw(rt, "plan").sown(rapid.Uint64().Draw(rt, "seed"))
		p.lead = time.Duration(rapid.IntRange(0, 200).Draw(rt, "lead")) * time.Millisecond
		return p
	})
}

func anyPress() *rapid.Generator[drill.Press] {
	spoken := []drill.Key{drill.Yes, drill.No, drill.Quiet, drill.SayAgain, drill.Hold, drill.StopCall}
	// What the short flows want comes up often enough for them to get somewhere.
	wanted := []drill.Key{"'", "m", "n", "0", "1", "8", "4", ",", "3", "2", drill.Yes, drill.No}
	var all []drill.Key
	for _, row := range aircraft.KeyRows() {
		for _, k := range row.Keys {
			all = append(all, drill.Key(k))
		}
	}
	return rapid.Custom(func(rt *rapid.T) drill.Press {
		key := rapid.OneOf(rapid.SampledFrom(wanted), rapid.SampledFrom(wanted), rapid.SampledFrom(spoken), rapid.SampledFrom(all)).Draw(rt, "key")
		p := drill.Press{Key: key, Shift: !slices.Contains(spoken, key) && rapid.Bool().Draw(rt, "shift")}
		if key != drill.Hold && rapid.IntRange(0, 4).Draw(rt, "has a length") == 0 {
			p.Began = time.Duration(rapid.Int64Range(1, int64(3*time.Minute)).Draw(rt, "began"))
			p.Off = time.Duration(rapid.Int64Range(0, int64(50*time.Millisecond)).Draw(rt, "off"))
		}
		return p
	})
}

// anyInstruction draws anything that an instructor may try, what cannot be done included.
func anyInstruction() *rapid.Generator[drill.Instruct] {
	what := map[drill.Instruction][]string{
		drill.Insert:     {"walker", "walker-back", "question", "chatter", "passer-by", "worn-pump", "nothing-of-the-kind", ""},
		drill.Delete:     {"walker", "walker-back", "question", "passer-by", "walker#1", "nothing-of-the-kind"},
		drill.Clear:      {"", "walker", "chatter#2"},
		drill.SetBack:    {"cold", "live", "rundown", "nowhere", ""},
		drill.SayOut:     {"Take your time.", "", " two\nlines \xff", strings.Repeat("long ", 60)},
		drill.Remark:     {"Looked twice.", "", strings.Repeat("x", drill.MaxRemark+9)},
		drill.SetWeather: {"oat", "pressure_altitude", "tailwind", "humidity", "pressure"},
		drill.SetPower:   {drill.On, drill.Off, drill.Off, "maybe"},
		drill.SetSound:   {drill.On, drill.Off, drill.Off, ""},
	}
	moments := rapid.SampledFrom([]drill.Moment{
		{}, {}, {Item: "guard"}, {Item: "pump"}, {Item: "nowhere"}, {Phase: "live"}, {Phase: "rundown"}, {Phase: "nowhere"},
		{At: 5 * time.Second}, {At: 40 * time.Second}, {At: -1}, {At: 4 * time.Hour}, {At: time.Minute, Item: "guard"},
	})
	amounts := []float64{0, -1, -12.5, 5, 21, 60, 300, 1e9, math.NaN(), math.Inf(1), math.Copysign(0, -1)}
	return rapid.Custom(func(rt *rapid.T) drill.Instruct {
		do := rapid.SampledFrom(append([]drill.Instruction{drill.Insert, drill.Insert, drill.Insert, drill.Release, drill.Release, "no such", ""}, drill.Instructions...)).Draw(rt, "do")
		e := drill.Instruct{Do: do, What: rapid.SampledFrom(append([]string{""}, what[do]...)).Draw(rt, "what"), To: rapid.SampledFrom(amounts).Draw(rt, "to")}
		if do == drill.Insert || do == drill.Remark || rapid.IntRange(0, 9).Draw(rt, "needless") == 0 {
			e.When = moments.Draw(rt, "when")
		}
		return e
	})
}

// anyEvent draws anything that can happen to a sitting, the report of a cue that never was included.
func anyEvent() *rapid.Generator[drill.Event] {
	return rapid.Custom(func(rt *rapid.T) drill.Event {
		switch n := rapid.IntRange(0, 99).Draw(rt, "event"); {
		case n < 63:
			return anyPress().Draw(rt, "press")
		case n < 70:
			return anyInstruction().Draw(rt, "instruction")
		case n < 97:
			onset := time.Duration(rapid.Int64Range(-int64(time.Second), int64(3*time.Minute)).Draw(rt, "onset"))
			h := drill.Heard{Cue: rapid.IntRange(-1, 60).Draw(rt, "cue"), Onset: onset, Why: rapid.SampledFrom([]logbook.Reason{"", logbook.Muted, logbook.NoDevice}).Draw(rt, "unheard")}
			if rapid.Bool().Draw(rt, "ends") {
				h.End = onset + time.Duration(rapid.Int64Range(-int64(time.Second), int64(3*time.Second)).Draw(rt, "length"))
			}
			return h
		case n < 98:
			return drill.Jumped{By: time.Duration(rapid.Int64Range(1, int64(time.Hour)).Draw(rt, "by"))}
		case n < 99:
			return drill.SoundHealth{Good: rapid.Bool().Draw(rt, "good"), Why: rapid.String().Draw(rt, "why")}
		}
		return drill.Stop{Why: rapid.String().Draw(rt, "why")}
	})
}

// anyInputs draws inputs over a minute or two, some of them at the same moment.
func anyInputs() *rapid.Generator[[]drill.Stored] {
	return rapid.Custom(func(rt *rapid.T) []drill.Stored {
		var inputs []drill.Stored
		at := time.Duration(0)
		for range rapid.IntRange(0, 60).Draw(rt, "inputs") {
			at += time.Duration(rapid.OneOf(rapid.Just(int64(0)), rapid.Int64Range(0, int64(3*time.Second)), rapid.Int64Range(0, int64(40*time.Millisecond))).Draw(rt, "gap"))
			inputs = append(inputs, drill.Stored{At: at, Event: anyEvent().Draw(rt, "event")})
		}
		return inputs
	})
}

// inOrder finds what is wrong with a log in itself.
func inOrder(entries []logbook.Entry) error {
	cues := 0
	for i, e := range entries {
		switch {
		case e.Seq != i+1:
			return fmt.Errorf("entry %d has number %d: %s", i+1, e.Seq, e.Describe())
		case i > 0 && e.At < entries[i-1].At:
			return fmt.Errorf("time runs back from %s to %s", entries[i-1].Describe(), e.Describe())
		case e.Kind == logbook.End && i != len(entries)-1:
			return fmt.Errorf("something happened after the end: %s", entries[i+1].Describe())
		}
		if e.Kind == logbook.Cue {
			if cues++; e.Cue != cues {
				return fmt.Errorf("cue %d is numbered %d", cues, e.Cue)
			}
		}
	}
	return nil
}

// feed puts inputs into a fresh sitting. Between them, splits says how often it is only told the time.
func feed(t *rapid.T, plan plan, inputs []drill.Stored, until time.Duration, splits func(from, to time.Duration) []time.Duration) *run {
	s := plan.begin()
	r := &run{}
	drain := func() {
		for _, o := range s.Outputs() {
			r.take(o)
		}
	}
	now := time.Duration(0)
	advance := func(to time.Duration) {
		for _, at := range splits(now, to) {
			if err := s.Advance(at); err != nil {
				t.Fatal(err)
			}
			drain()
		}
		now = to
	}
	for _, in := range inputs {
		advance(in.At)
		if err := s.Input(in.At, in.Event); err != nil {
			t.Fatal(err)
		}
		drain()
	}
	advance(until)
	if err := s.Advance(until); err != nil {
		t.Fatal(err)
	}
	drain()
	if err := inOrder(r.entries); err != nil {
		t.Fatal(err)
	}
	return r
}

// atOnce tells the time only with the inputs.
func atOnce(_, _ time.Duration) []time.Duration { return nil }

func endOf(inputs []drill.Stored) time.Duration {
	if len(inputs) == 0 {
		return time.Minute
	}
	return inputs[len(inputs)-1].At + time.Minute
}

func sameRun(t *rapid.T, what string, a, b *run) {
	for i := range min(len(a.lines), len(b.lines)) {
		if a.lines[i] != b.lines[i] {
			t.Fatalf("%s: output %d is\n%s\nand was\n%s", what, i, b.lines[i], a.lines[i])
		}
	}
	if len(a.lines) != len(b.lines) {
		t.Fatalf("%s: %d outputs, and there were %d", what, len(b.lines), len(a.lines))
	}
}

// How often a sitting is told the time changes nothing. The same plan and inputs give the same outputs.
func TestOftenAdvancedOrOnce(t *testing.T) {
	plans := deskPlans(t)
	rapid.Check(t, func(t *rapid.T) {
		plan, inputs := anyPlan(plans).Draw(t, "plan"), anyInputs().Draw(t, "inputs")
		once := feed(t, plan, inputs, endOf(inputs), atOnce)
		often := feed(t, plan, inputs, endOf(inputs), func(from, to time.Duration) []time.Duration {
			var at []time.Duration
			for range rapid.IntRange(0, 5).Draw(t, "splits") {
				at = append(at, from+time.Duration(rapid.Int64Range(0, int64(to-from)).Draw(t, "split")))
			}
			slices.Sort(at)
			return at
		})
		sameRun(t, "advanced more often", once, often)
		sameRun(t, "again", once, feed(t, plan, inputs, endOf(inputs), atOnce))
	})
}

// What goes into the record, every input as it was encoded, gives the same log again, and the same score.
func TestReplayFromEncodedInputs(t *testing.T) {
	plans := deskPlans(t)
	rapid.Check(t, func(t *rapid.T) {
		plan, inputs := anyPlan(plans).Draw(t, "plan"), anyInputs().Draw(t, "inputs")
		live := feed(t, plan, inputs, endOf(inputs), atOnce)
		kept := make([]drill.Stored, len(inputs))
		for i, in := range inputs {
			event, err := drill.DecodeEvent(drill.EncodeEvent(in.Event))
			if err != nil {
				t.Fatal(err)
			}
			kept[i] = drill.Stored{At: in.At, Event: event}
		}
		again := &run{}
		if err := plan.begin().Replay(kept, endOf(inputs), again.take); err != nil {
			t.Fatal(err)
		}
		sameRun(t, "replayed", live, again)
		sheet := plan.Sheet(plan.seed)
		if a, b := score.Judge(sheet, live.entries), score.Judge(sheet, again.entries); !reflect.DeepEqual(a, b) {
			t.Fatalf("replayed it scores %+v; it scored %+v", b, a)
		}
	})
}

// What a log tells of is all that its sitting went by: gone through again with it, nothing differs, and it scores the same. Pauses
// of any number of nanoseconds come back whole.
func TestReplayFromLog(t *testing.T) {
	plans := deskPlans(t)
	paused := rapid.Custom(func(rt *rapid.T) []drill.Stored {
		inputs := anyInputs().Draw(rt, "inputs")
		at := rapid.IntRange(0, len(inputs)).Draw(rt, "place")
		var from time.Duration
		if at > 0 {
			from = inputs[at-1].At
		}
		length := time.Duration(rapid.Int64Range(1, int64(2*time.Minute)).Draw(rt, "pause"))
		out := append(slices.Clone(inputs[:at]), drill.Stored{At: from, Event: drill.Press{Key: drill.Hold}}, drill.Stored{At: from + length, Event: drill.Press{Key: drill.Hold}})
		for _, in := range inputs[at:] {
			out = append(out, drill.Stored{At: in.At + length, Event: in.Event})
		}
		return out
	})
	rapid.Check(t, func(t *rapid.T) {
		plan, inputs := anyPlan(plans).Draw(t, "plan"), rapid.OneOf(anyInputs(), paused).Draw(t, "inputs")
		inputs = slices.DeleteFunc(inputs, func(in drill.Stored) bool { _, stop := in.Event.(drill.Stop); return stop })
		live := feed(t, plan, inputs, endOf(inputs), atOnce)
		told := drill.InputsOf(live.entries)
		given := map[time.Duration]bool{}
		for _, in := range inputs {
			given[in.At] = true
		}
		for _, in := range told {
			if !given[in.At] {
				t.Fatalf("the log tells of %#v at %v, when nothing was given", in.Event, in.At)
			}
		}
		again := &run{}
		if err := plan.begin().Replay(told, endOf(inputs), again.take); err != nil {
			t.Fatal(err)
		}
		sameLog(t, live.entries, again.entries)
		sheet := plan.Sheet(plan.seed)
		if a, b := score.Judge(sheet, live.entries), score.Judge(sheet, again.entries); !reflect.DeepEqual(a, b) {
			t.Fatalf("replayed it scores %+v; it scored %+v", b, a)
		}
	})
}

func sameLog(t *rapid.T, was, is []logbook.Entry) {
	for i := range min(len(was), len(is)) {
		if was[i] != is[i] {
			t.Fatalf("replayed from its log, entry %d is\n%s\n%+v\nand was\n%s\n%+v", i+1, is[i].Describe(), is[i], was[i].Describe(), was[i])
		}
	}
	if len(was) != len(is) {
		t.Fatalf("replayed from its log, %d entries, and there were %d", len(is), len(was))
	}
}

// Time that runs back is an error, and as if it had not been said.
func TestTimeRunsBack(t *testing.T) {
	plans := deskPlans(t)
	rapid.Check(t, func(t *rapid.T) {
		plan, inputs := anyPlan(plans).Draw(t, "plan"), anyInputs().Draw(t, "inputs")
		once := feed(t, plan, inputs, endOf(inputs), atOnce)
		s := plan.begin()
		r := &run{}
		drain := func() {
			for _, o := range s.Outputs() {
				r.take(o)
			}
		}
		for _, in := range append(inputs, drill.Stored{At: endOf(inputs)}) {
			var err error
			if in.Event == nil {
				err = s.Advance(in.At)
			} else {
				err = s.Input(in.At, in.Event)
			}
			if err != nil {
				t.Fatal(err)
			}
			drain()
			back := in.At - time.Duration(rapid.Int64Range(1, int64(time.Hour)).Draw(t, "back"))
			if err := s.Advance(back); !errors.Is(err, drill.ErrTimeRanBack) {
				t.Fatalf("advanced back to %v: %v", back, err)
			}
			if err := s.Input(back, anyEvent().Draw(t, "event")); !errors.Is(err, drill.ErrTimeRanBack) {
				t.Fatalf("input back at %v: %v", back, err)
			}
			if out := s.Outputs(); len(out) > 0 {
				t.Fatalf("time that ran back brought about %s", out[0].Describe())
			}
		}
		sameRun(t, "with time running back", once, r)
	})
}

// A sitting never wants to be called in the past, and until it has ended or is held it always wants to be called.
func TestNextDeadlineLiesAhead(t *testing.T) {
	plans := deskPlans(t)
	rapid.Check(t, func(t *rapid.T) {
		plan, inputs := anyPlan(plans).Draw(t, "plan"), anyInputs().Draw(t, "inputs")
		s := plan.begin()
		var v drill.View
		for _, in := range inputs {
			if err := s.Input(in.At, in.Event); err != nil {
				t.Fatal(err)
			}
			s.View(&v)
			next, ok := s.NextDeadline()
			if ok == (v.Ended || v.Paused) {
				t.Fatalf("wants to be called %v; ended %v, paused %v", ok, v.Ended, v.Paused)
			}
			if ok && (next <= in.At || next > in.At+aircraft.StepLength) {
				t.Fatalf("at %v it wants to be called at %v", in.At, next)
			}
			if v.At > in.At || v.ItemNo > v.Items || len(v.Said) > drill.SaidLines {
				t.Fatalf("at %v it shows %+v", in.At, v)
			}
		}
	})
}

// Every event that is written can be read, keys that no sitting knows included: nothing that is kept may be lost.
func TestEventsRoundTrip(t *testing.T) {
	foreign := rapid.Custom(func(rt *rapid.T) drill.Event {
		return drill.Press{Key: drill.Key(rapid.StringMatching(`[^s]\PC{0,3}`).Draw(rt, "key")), Shift: rapid.Bool().Draw(rt, "shift")}
	})
	rapid.Check(t, func(t *rapid.T) {
		e := rapid.OneOf(anyEvent(), foreign).Draw(t, "event")
		body := drill.EncodeEvent(e)
		got, err := drill.DecodeEvent(body)
		if err != nil {
			t.Fatal(err)
		}
		if _, is := e.(drill.Instruct); is { // its words are kept as valid text on one line, as the sitting takes them: once so, they stay
			e, body = got, drill.EncodeEvent(got)
			if got, err = drill.DecodeEvent(body); err != nil {
				t.Fatal(err)
			}
		}
		if got != e {
			t.Fatalf("%#v became %#v by way of %s", e, got, body)
		}
	})
}

func TestDecodeEventRefuses(t *testing.T) {
	for _, body := range []string{"", "{", "null", "{}", "[]", `{"onset":3}`, `{"heard":"one"}`} {
		if e, err := drill.DecodeEvent([]byte(body)); err == nil {
			t.Errorf("%q became %#v", body, e)
		}
	}
}
