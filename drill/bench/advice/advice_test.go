package advice_test

import (
	"context"
	"errors"
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/bench/advice"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
	"hornlark/drill/scenario"
)

func builtin(t *testing.T) *library.Library {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	return lib
}

// once notes advice that is given twice for one place, or without words or a source.
func once(t interface{ Errorf(string, ...any) }, list advice.List) {
	seen := map[string]bool{}
	for _, a := range list {
		key := fmt.Sprintf("%s %s", a.Rule, a.Path)
		if seen[key] {
			t.Errorf("twice at one place: %s: %s", a.Rule, a.Error())
		}
		seen[key] = true
		if a.Problem == "" || a.Remedy == "" || a.Source() == "" {
			t.Errorf("it has no words, no remedy or no source: %+v", a)
		}
	}
}

// Whatever has been changed in a procedure, nothing panics, nothing is said twice of a place, and the same is said each time; also where the
// procedure makes no sense any more.
func TestAdviceOnChangedProcedures(t *testing.T) {
	lib := builtin(t)
	all := lib.Procedures()
	rapid.Check(t, func(t *rapid.T) {
		p := clone(rapid.SampledFrom(all).Draw(t, "procedure"))
		for range rapid.IntRange(1, 6).Draw(t, "changes") {
			if len(p.Phases) == 0 {
				break
			}
			ph := &p.Phases[rapid.IntRange(0, len(p.Phases)-1).Draw(t, "phase")]
			if len(ph.Items) == 0 {
				continue
			}
			i := rapid.IntRange(0, len(ph.Items)-1).Draw(t, "item")
			it := &ph.Items[i]
			switch rapid.IntRange(0, 9).Draw(t, "change") {
			case 0:
				ph.Items = append(ph.Items[:i:i], ph.Items[i+1:]...)
			case 1:
				ph.Items = append(ph.Items, *it)
			case 2:
				it.Challenge = rapid.String().Draw(t, "challenge")
			case 3:
				it.Response = rapid.SampledFrom([]string{"", "Set", "Checked", "complete", "…", "as required", "OK!"}).Draw(t, "response")
			case 4:
				it.Check, it.Set, it.Confirm = "nr > 500", nil, ""
			case 5:
				it.Set, it.Check, it.Confirm = aircraft.Settings{}, "", ""
			case 6:
				ph.Items = nil
			case 7:
				it.ID = ""
			case 8:
				it.Hold = "nowhere"
			case 9:
				ph.Title = rapid.String().Draw(t, "title")
			}
		}
		list := advice.Written(p, nil)
		once(t, list)
		if again := advice.Written(p, nil); fmt.Sprint(again) != fmt.Sprint(list) {
			t.Errorf("the second time it was\n%v\nand not\n%v", again, list)
		}
	})
}

// clone is a procedure that may be changed.
func clone(p *procedure.Procedure) *procedure.Procedure {
	q := *p
	q.Phases = append([]procedure.Phase{}, p.Phases...)
	for i := range q.Phases {
		q.Phases[i].Items = append([]procedure.Item{}, q.Phases[i].Items...)
	}
	return &q
}

// Runs of documents in which something has been changed at random say nothing twice, and the same each time. What cannot be run is an
// error, and no panic. A short procedure, so that many are tried.
func TestAdviceOnChangedRuns(t *testing.T) {
	lib := builtin(t)
	proc, err := lib.Procedure("turnstone-hover")
	if err != nil {
		t.Fatal(err)
	}
	prof, err := lib.Profile(proc.Profile)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, ab := range lib.Abnormals() {
		if ab.Profile == prof.Name {
			names = append(names, ab.Name)
		}
	}
	conditions := []string{"nr > 95", "nr < 5", "airborne", "not airborne", "trq > 500", "nr >"}
	sc, err := lib.Scenario("turnstone-alerts")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		p := clone(proc)
		for range rapid.IntRange(0, 2).Draw(t, "changes") {
			it := &p.Phases[0].Items[rapid.IntRange(0, len(p.Phases[0].Items)-1).Draw(t, "item")]
			switch rapid.IntRange(0, 3).Draw(t, "change") {
			case 0:
				it.Set, it.Read, it.Confirm, it.Check = nil, "", "", rapid.SampledFrom(conditions).Draw(t, "check")
			case 1:
				it.After, it.Wait = rapid.SampledFrom(conditions).Draw(t, "after"), 2*time.Second
			case 2:
				it.Set, it.Read, it.Confirm, it.Check = aircraft.Put("throttle", "idle"), "", "", ""
			case 3:
				it.When = rapid.SampledFrom(conditions).Draw(t, "when")
			}
		}
		s := *sc
		s.Drawn, s.Policy = nil, scenario.Prompted
		for range rapid.IntRange(0, 2).Draw(t, "injections") {
			in := scenario.Injection{Abnormal: rapid.SampledFrom(names).Draw(t, "abnormal")}
			switch rapid.IntRange(0, 2).Draw(t, "when it comes") {
			case 0:
				in.During = p.Phases[0].Items[1].ID
			case 1:
				in.When = rapid.SampledFrom(conditions).Draw(t, "injected when")
			case 2:
				in.At = time.Duration(rapid.IntRange(1, 100).Draw(t, "seconds")) * time.Second
			}
			s.Injections = append(s.Injections, in)
		}
		run := func() string {
			ctx := context.Background()
			flown, err := advice.Flown(ctx, prof, p, []advice.Start{{Weather: s.Weather, State: s.State}})
			once(t, flown)
			list, err2 := advice.Scenario(ctx, drill.Documents{Profile: prof, Procedure: p, Scenario: &s, Abnormals: lib.Abnormals()}, flown)
			once(t, list)
			return fmt.Sprint(flown, err, list, err2)
		}
		if a, b := run(), run(); a != b {
			t.Errorf("%s\nand then\n%s", a, b)
		}
	})
}

// With nothing wrong nothing is drawn: a run has the same log whatever the seed, but for the seed itself. That is why one is enough.
func TestHealthyRunsHaveNoLuck(t *testing.T) {
	lib := builtin(t)
	b, err := lib.Resolve("hand-start")
	if err != nil {
		t.Fatal(err)
	}
	logs := advice.LogsOfSeeds(t, drill.Documents{Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario}, 1, 2, 31)
	for _, log := range logs[1:] {
		if log != logs[0] {
			t.Error("another seed gave another log")
		}
	}
}

// An immediate action with a control of which all procedures say that this aircraft has none is told; one that somebody moves is not.
func TestActionsOnWhatIsNotFitted(t *testing.T) {
	no := false
	floats := procedure.Item{ID: "floats", Set: aircraft.Put("floats", "armed"), Fitted: &no}
	ab := &scenario.Abnormal{Name: "ditching", Profile: "mine", Actions: []scenario.Action{{Set: aircraft.Put("lever", "shut")}, {Set: aircraft.Put("floats", "armed")}}}
	flow := func(items ...procedure.Item) *procedure.Procedure {
		return &procedure.Procedure{Name: "flow", Profile: "mine", Phases: []procedure.Phase{{ID: "a", Items: items}}}
	}
	list, err := advice.Abnormal(context.Background(), ab, nil, []*procedure.Procedure{flow(floats)})
	if err != nil || len(list) != 1 || list[0].Path != "actions[1].set.floats" || list[0].Problem != "floats is not fitted, as item floats says" {
		t.Errorf("%+v, %v", list, err)
	}
	armed := procedure.Item{ID: "again", Set: aircraft.Put("floats", "safe")}
	if list, err := advice.Abnormal(context.Background(), ab, nil, []*procedure.Procedure{flow(floats), flow(armed)}); err != nil || len(list) != 0 {
		t.Errorf("%+v, %v", list, err)
	}
}

// Whoever asked for it can end it.
func TestAdviceIsStopped(t *testing.T) {
	lib := builtin(t)
	b, err := lib.Resolve("first-start")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancelCause(context.Background())
	why := errors.New("enough")
	stop(why)
	if _, err := advice.Flown(ctx, b.Profile, b.Procedure, advice.Starts(b.Profile, b.Procedure, nil)); !errors.Is(err, why) {
		t.Errorf("%v", err)
	}
	if _, err := advice.Scenario(ctx, drill.Documents{Profile: b.Profile, Procedure: b.Procedure, Scenario: b.Scenario, Abnormals: b.Abnormals}, nil); !errors.Is(err, why) {
		t.Errorf("%v", err)
	}
}
