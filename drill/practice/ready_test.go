package practice

import (
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// readyOn is the day of these tests, and seenBefore what makes somebody ready on it: three passes, two days apart, and both abnormals handled.
var readyOn = day0.AddDate(0, 0, 30)

// before is an attempt so many days before that day.
func before(days float64, ended Ended) Attempt {
	return Attempt{Began: readyOn.Add(-time.Duration(days * 24 * float64(time.Hour))), Ended: ended, New: true, WithinPar: 9, Reactions: 10}
}

func met(abnormal string) Meeting { return Meeting{abnormal, true, 2500, true} }

func seenBefore() *Seen {
	return &Seen{
		Kind:      FlowPart,
		Attempts:  []Attempt{before(9, EndedFailed), before(7, EndedPassed), before(5, EndedPassed), before(3, EndedPassed)},
		Meetings:  []Meeting{{Abnormal: "fire"}, met("fire"), met("leak")},
		Abnormals: []string{"fire", "leak"},
		Things:    []Thing{{score.TrialItem, "p", "battery"}},
	}
}

// knownBefore is what is known after those sittings, of which the latest was right or not.
func knownBefore(right bool) *Known {
	k := NewKnown(DefaultWeights)
	for _, days := range []float64{9, 7, 5, 3} {
		k.Learn(&Sitting{Began: before(days, EndedPassed).Began, Procedure: "p", Profile: "a",
			Trials: []score.Trial{{Kind: score.TrialItem, Name: "battery", Right: right || days > 3}}})
	}
	return k
}

func TestReady(t *testing.T) {
	share := func(v float64) *float64 { return &v }
	whole := func(n int) *int { return &n }
	for name, c := range map[string]struct {
		change  func(*Seen, *Criteria)
		answer  Readiness
		row     int
		against string // part of what speaks against it; empty: nothing does
		lacking string // part of what is lacking; empty: nothing is
	}{
		"ready":                   {nil, IsReady, 3, "", ""},
		"nothing seen":            {func(s *Seen, _ *Criteria) { s.Attempts = nil }, NotEnough, 0, "", "no unannounced sitting of it: as a whole, from memory, with nothing told"},
		"nothing watched":         {func(s *Seen, _ *Criteria) { s.Attempts, s.Kind = nil, WatchPart }, NotEnough, 0, "", "no unannounced sitting of it: with nothing told"},
		"no figures asked":        {func(s *Seen, _ *Criteria) { s.Attempts, s.Kind = nil, LimitsPart }, NotEnough, 0, "", "no unannounced sitting of it: 10 figures or more in one go"},
		"a failed one in between": {func(s *Seen, _ *Criteria) { s.Attempts[2].Ended = EndedFailed }, NotEnough, 1, "", "in a row with at least 2 days between them: 1; wanted: 3"},
		"the latest not passed":   {func(s *Seen, _ *Criteria) { s.Attempts[3].Ended = EndedFailed }, NotYet, 0, "latest unannounced sitting, of 31 Jan 2027, was not passed", ""},
		"broken off in between":   {func(s *Seen, _ *Criteria) { s.Attempts[1].Ended = EndedBroken }, NotEnough, 2, "", "between them: 2"},
		"the latest broken off":   {func(s *Seen, _ *Criteria) { s.Attempts[3].Ended = EndedBroken }, NotEnough, 0, "", "was broken off, and a row ends with it"},
		"only broken off":         {func(s *Seen, _ *Criteria) { s.Attempts = []Attempt{before(3, EndedBroken)} }, NotEnough, 0, "", "passes in a row"},
		"rightly refused at last": {func(s *Seen, _ *Criteria) { s.Attempts = append(s.Attempts, before(1, EndedRefused)) }, IsReady, 3, "", ""},
		"rightly refused alone":   {func(s *Seen, _ *Criteria) { s.Attempts = []Attempt{before(1, EndedRefused)} }, NotEnough, 0, "", "no unannounced sitting"},
		"all of one day": {func(s *Seen, _ *Criteria) {
			s.Attempts = []Attempt{before(3.2, EndedPassed), before(3.1, EndedPassed), before(3, EndedPassed), before(2.9, EndedPassed)}
		}, NotEnough, 1, "", "between them: 1; wanted: 3"},
		"two of one day":         {func(s *Seen, _ *Criteria) { s.Attempts[2] = before(3.5, EndedPassed) }, NotEnough, 2, "", "between them: 2"},
		"one more of one day":    {func(s *Seen, _ *Criteria) { s.Attempts = append(s.Attempts, before(2, EndedPassed)) }, IsReady, 3, "", ""},
		"dates count, not hours": {func(s *Seen, _ *Criteria) { s.Attempts[2] = before(4.8, EndedPassed) }, IsReady, 3, "", ""},
		"not apart at all":       {func(s *Seen, c *Criteria) { s.Attempts[2], c.DaysApart = before(3.1, EndedPassed), 0 }, IsReady, 3, "", ""},
		"too few, not apart":     {func(s *Seen, c *Criteria) { c.InARow, c.DaysApart = 4, 0 }, NotEnough, 3, "", "Unannounced passes in a row: 3; wanted: 4."},
		"one day apart":          {func(s *Seen, c *Criteria) { c.InARow, c.DaysApart = 4, 1 }, NotEnough, 3, "", "at least 1 day between them"},
		"no surprise in a row": {func(s *Seen, _ *Criteria) {
			s.Attempts[1].New, s.Attempts[2].New, s.Attempts[3].New = false, false, false
		}, NotEnough, 3, "", "not come before at the same places: 0; wanted: 1"},
		"one surprise in a row":   {func(s *Seen, _ *Criteria) { s.Attempts[1].New, s.Attempts[3].New = false, false }, IsReady, 3, "", ""},
		"all are to be surprises": {func(s *Seen, c *Criteria) { s.Attempts[1].New, c.Surprises = false, 3 }, NotEnough, 3, "", "same places: 2; wanted: 3"},
		"nothing could surprise": {func(s *Seen, _ *Criteria) {
			s.Abnormals = nil
			s.Attempts[1].New, s.Attempts[2].New, s.Attempts[3].New = false, false, false
		}, IsReady, 3, "", ""},
		"one pass is enough":     {func(s *Seen, c *Criteria) { s.Attempts, c.InARow = s.Attempts[3:], 1 }, IsReady, 1, "", ""},
		"exactly recent enough":  {func(_ *Seen, c *Criteria) { c.WithinDays = whole(3) }, IsReady, 3, "", ""},
		"too long ago":           {func(_ *Seen, c *Criteria) { c.WithinDays = whole(2) }, NotEnough, 3, "", "of 31 Jan 2027, lies more than 2 days before the day"},
		"however long ago":       {func(_ *Seen, c *Criteria) { c.WithinDays = nil }, IsReady, 3, "", ""},
		"a clock far ahead once": {func(s *Seen, _ *Criteria) { s.Attempts[1] = before(-900, EndedPassed) }, NotEnough, 2, "", "between them: 2"},
		"a clock set back once":  {func(s *Seen, _ *Criteria) { s.Attempts[2] = before(400, EndedPassed) }, NotEnough, 2, "", "between them: 2"},
		"the latest on the day":  {func(s *Seen, c *Criteria) { s.Attempts[3], c.WithinDays = before(0, EndedPassed), whole(0) }, IsReady, 3, "", ""},
		"the latest after the day": {func(s *Seen, _ *Criteria) { s.Attempts[3] = before(-2, EndedPassed) }, NotEnough, 3, "",
			"date 5 Feb 2027, which lies after the day: a clock was wrong"},
		"one abnormal of many": {func(s *Seen, _ *Criteria) { s.Abnormals = append(s.Abnormals, "hot-start", "gear", "door") }, NotEnough, 3, "", "handled the latest time: 2 of 5; wanted: 50 %"},
		"half of them":         {func(s *Seen, _ *Criteria) { s.Abnormals = append(s.Abnormals, "hot-start", "gear") }, IsReady, 3, "", ""},
		"one not handled":      {func(s *Seen, _ *Criteria) { s.Meetings = append(s.Meetings, Meeting{"leak", true, 900, false}) }, NotYet, 3, "handled, the latest time of each: 1 of 2; wanted: 80 %", ""},
		"one not noticed": {func(s *Seen, c *Criteria) {
			s.Meetings, c.Handled, c.Shown = append(s.Meetings, Meeting{Abnormal: "leak"}), nil, nil
		}, NotYet, 3, "noticed, the latest time of each: 1 of 2; wanted: 90 %", ""},
		"just enough noticed": {func(s *Seen, c *Criteria) {
			s.Meetings, c.Noticed, c.Handled, c.Shown = append(s.Meetings, Meeting{Abnormal: "leak"}), share(0.5), nil, nil
		}, IsReady, 3, "", ""},
		"just enough handled": {func(s *Seen, c *Criteria) {
			s.Meetings, c.Handled = append(s.Meetings, Meeting{"leak", true, 900, false}), share(0.5)
		}, IsReady, 3, "", ""},
		"one not noticed in time":   {func(_ *Seen, c *Criteria) { d := 2 * time.Second; c.Detection = &d }, NotYet, 3, "was noticed is 2.5 s, the latest time of each; wanted: 2s", ""},
		"just noticed in time":      {func(_ *Seen, c *Criteria) { d := 2500 * time.Millisecond; c.Detection = &d }, IsReady, 3, "", ""},
		"never noticed is too late": {func(s *Seen, _ *Criteria) { s.Meetings = nil }, NotEnough, 3, "", "handled the latest time: 0 of 2"},
		"abnormals do not count": {func(s *Seen, c *Criteria) {
			s.Meetings, c.Noticed, c.Handled, c.Shown = []Meeting{{Abnormal: "fire"}}, nil, nil, nil
		}, IsReady, 3, "", ""},
		"no abnormal can come": {func(s *Seen, _ *Criteria) { s.Abnormals, s.Meetings = nil, nil }, IsReady, 3, "", ""},
		"too slow":             {func(_ *Seen, c *Criteria) { c.WithinPar = share(0.91) }, NotYet, 3, "in the passes that count: 27 of 30; wanted: 91 %", ""},
		"just fast enough":     {func(_ *Seen, c *Criteria) { c.WithinPar = share(0.9) }, IsReady, 3, "", ""},
		"nothing was timed": {func(s *Seen, c *Criteria) {
			for i := range s.Attempts {
				s.Attempts[i].WithinPar, s.Attempts[i].Reactions = 0, 0
			}
			c.WithinPar = share(0.9)
		}, IsReady, 3, "", ""},
		"slow once, long ago": {func(s *Seen, c *Criteria) { s.Attempts[0].WithinPar, c.WithinPar = 0, share(0.9) }, IsReady, 3, "", ""},
		"will be forgotten":   {func(_ *Seen, c *Criteria) { c.Recall = share(1) }, NotYet, 3, "of what was met: ", ""},
		"most never met": {func(s *Seen, _ *Criteria) {
			s.Things = append(s.Things, Thing{score.TrialItem, "p", "pump"}, Thing{score.TrialItem, "p", "horn"})
		}, NotEnough, 3, "", "right the latest time: 1 of 3; wanted: 50 %"},
		"half never met":        {func(s *Seen, _ *Criteria) { s.Things = append([]Thing{{score.TrialItem, "p", "pump"}}, s.Things...) }, IsReady, 3, "", ""},
		"exactly as much known": {func(s *Seen, c *Criteria) { c.Recall = share(knownBefore(true).Recall(s.Things[0], readyOn)) }, IsReady, 3, "", ""},
		"recall does not count": {func(s *Seen, c *Criteria) { s.Things[0].Name, c.Recall, c.Shown = "pump", nil, nil }, IsReady, 3, "", ""},
		"wrong and not enough": {func(s *Seen, _ *Criteria) {
			s.Meetings, s.Abnormals = []Meeting{{Abnormal: "leak"}}, []string{"fire", "leak"}
		}, NotYet, 3, "noticed, the latest time of each: 0 of 1", "handled the latest time: 0 of 2"},
	} {
		seen, criteria := seenBefore(), DefaultCriteria()
		if c.change != nil {
			c.change(seen, criteria)
		}
		r := Ready(knownBefore(true), seen, criteria, readyOn)
		holds := func(list []string, part string) bool {
			return part == "" && len(list) == 0 || part != "" && strings.Contains(strings.Join(list, "\n"), part)
		}
		if r.Answer != c.answer || r.InARow != c.row || !holds(r.Against, c.against) || !holds(r.Lacking, c.lacking) {
			t.Errorf("%s: %+v", name, r)
		}
		for _, abnormal := range seen.Abnormals {
			if text := strings.Join(append(r.Against, r.Lacking...), " "); strings.Contains(text, abnormal) {
				t.Errorf("%s: names %s, which can still come: %s", name, abnormal, text)
			}
		}
	}
}

func TestReadyFigures(t *testing.T) {
	seen := seenBefore()
	if r := Ready(knownBefore(true), seen, DefaultCriteria(), readyOn); r.Passes != ShareOf(3, 4) || r.BrokenOff != 0 {
		t.Errorf("passes %+v, %d broken off; one of four was failed", r.Passes, r.BrokenOff)
	}
	seen.Attempts[3].Again, seen.Attempts[2].DateSet, seen.Attempts[1].DateSet, seen.Attempts[0].DateSet = true, true, true, true
	seen.Attempts[0].Ended = EndedBroken
	seen.Meetings = append(seen.Meetings, Meeting{"leak", true, 7000, false})
	seen.Abnormals = append(seen.Abnormals, "door")
	r := Ready(knownBefore(true), seen, DefaultCriteria(), readyOn)
	if want := ShareOf(3, 3); r.Passes != want || r.BrokenOff != 1 || r.Again != 1 || r.New != 3 || r.DateSet != 2 || r.WithinPar != ShareOf(27, 30) {
		t.Errorf("passes %+v, %d broken off, %d again, %d with a date that was set, within par %+v", r.Passes, r.BrokenOff, r.Again, r.DateSet, r.WithinPar)
	}
	if r.Noticed != ShareOf(2, 2) || r.Handled != ShareOf(1, 2) || r.Abnormals != 3 || r.SlowestMS != 7000 ||
		!reflect.DeepEqual(r.Mishandled, []string{"leak"}) || !reflect.DeepEqual(r.Unmet, []string{"door"}) {
		t.Errorf("noticed %+v, handled %+v of %d, slowest %v, not %v, never %v", r.Noticed, r.Handled, r.Abnormals, r.SlowestMS, r.Mishandled, r.Unmet)
	}
	if want := knownBefore(true).Recall(seen.Things[0], readyOn); r.Recall == nil || math.Abs(*r.Recall-want) > 1e-15 || r.Met != 1 || r.Right != 1 || r.Things != 1 {
		t.Errorf("recall %v of %d, %d right; want %v of 1", r.Recall, r.Met, r.Right, want)
	}
	if r := Ready(NewKnown(DefaultWeights), seen, DefaultCriteria(), readyOn); r.Recall != nil || r.Met != 0 || r.Things != 1 {
		t.Errorf("nothing met: recall %v of %d", r.Recall, r.Met)
	}
	if r := Ready(knownBefore(false), seen, DefaultCriteria(), readyOn); r.Recall == nil || *r.Recall != 0 || r.Met != 1 || r.Right != 0 {
		t.Errorf("wrong the latest time: recall %v of %d, %d right; want 0 of 1", r.Recall, r.Met, r.Right)
	}
}

// What weighs more counts more in what is expected on the day.
func TestReadyWeighsThings(t *testing.T) {
	seen, known := seenBefore(), knownBefore(true)
	seen.Things = append(seen.Things, Thing{score.TrialNotice, "a", "fire"})
	known.Learn(&Sitting{Began: before(2, EndedPassed).Began, Procedure: "p", Profile: "a", Trials: []score.Trial{{Kind: score.TrialNotice, Name: "fire"}}})
	want := known.Recall(seen.Things[0], readyOn) / (1 + Thing{Kind: score.TrialNotice}.Weight())
	if r := Ready(known, seen, DefaultCriteria(), readyOn); math.Abs(*r.Recall-want) > 1e-15 || r.Answer != NotYet {
		t.Errorf("recall %v, want %v; %s", *r.Recall, want, r.Answer)
	}
}

// One more failure never makes anybody ready, whatever came before and whatever is asked for: an attempt that was failed or broken off, an abnormal
// that was let go by or noticed and not handled, a thing that was wrong; nor does what was passed, handled or right and in truth was not.
func TestFailuresNeverMakeReady(t *testing.T) {
	rank := map[Readiness]int{IsReady: 1}
	names := []string{"fire", "leak", "door", "gear"}
	things := []Thing{{score.TrialItem, "p", "battery"}, {score.TrialItem, "p", "pump"}, {score.TrialNotice, "a", "fire"}}
	made := 0
	rapid.Check(t, func(r *rapid.T) {
		seen, known := &Seen{Kind: FlowPart, Abnormals: names, Things: things}, NewKnown(DefaultWeights)
		var trials []Sitting
		learn := func(began time.Time, right bool) {
			thing := rapid.SampledFrom(things).Draw(r, "thing")
			trials = append(trials, Sitting{Began: began, Procedure: "p", Profile: "a", Trials: []score.Trial{{Kind: thing.Kind, Name: thing.Name, Right: right}}})
		}
		at := 30.0
		for range rapid.IntRange(1, 12).Draw(r, "attempts") {
			at -= rapid.SampledFrom([]float64{0.1, 1, 2, 3}).Draw(r, "gap")
			seen.Attempts = append(seen.Attempts, before(at, rapid.SampledFrom([]Ended{EndedPassed, EndedPassed, EndedPassed, EndedFailed, EndedBroken, EndedRefused}).Draw(r, "ended")))
			seen.Attempts[len(seen.Attempts)-1].New = rapid.Bool().Draw(r, "new")
			learn(before(at, "").Began, rapid.IntRange(0, 5).Draw(r, "right") > 0)
			noticed := rapid.IntRange(0, 5).Draw(r, "noticed") > 0
			seen.Meetings = append(seen.Meetings, Meeting{rapid.SampledFrom(names).Draw(r, "abnormal"), noticed, 2000, noticed && rapid.Bool().Draw(r, "handled")})
		}
		share := func(name string) *float64 {
			if !rapid.Bool().Draw(r, name) {
				return nil
			}
			v := rapid.SampledFrom([]float64{0.25, 0.5, 0.8, 1}).Draw(r, name+" share")
			return &v
		}
		c := &Criteria{
			InARow: rapid.IntRange(1, 3).Draw(r, "in a row"), Surprises: rapid.IntRange(0, 1).Draw(r, "surprises"), DaysApart: rapid.IntRange(0, 2).Draw(r, "apart"),
			Recall: share("recall"), Shown: share("shown"), Noticed: share("noticed"), Handled: share("handled"), WithinPar: share("within par"),
		}
		if rapid.Bool().Draw(r, "timed") {
			d := 3 * time.Second
			c.Detection = &d
		}
		for i := range trials {
			known.Learn(&trials[i])
		}
		was := Ready(known, seen, c, readyOn)
		last := len(seen.Attempts) - 1
		if was.Answer == IsReady {
			made++
		}
		switch rapid.IntRange(0, 5).Draw(r, "failure") {
		case 0:
			seen.Attempts = append(seen.Attempts, before(at, rapid.SampledFrom([]Ended{EndedFailed, EndedBroken}).Draw(r, "now")))
		case 1:
			seen.Attempts[rapid.IntRange(0, last).Draw(r, "which")].Ended = EndedFailed
		case 2:
			seen.Meetings = append(seen.Meetings, Meeting{Abnormal: rapid.SampledFrom(names).Draw(r, "now")})
		case 3:
			m := &seen.Meetings[rapid.IntRange(0, last).Draw(r, "which")]
			m.Handled = false
		case 4:
			m := &seen.Meetings[rapid.IntRange(0, last).Draw(r, "which")]
			m.Noticed, m.Handled = false, false
		default:
			learn(before(at, "").Began, false)
			known.Learn(&trials[len(trials)-1])
		}
		if now := Ready(known, seen, c, readyOn); rank[now.Answer] > rank[was.Answer] {
			r.Fatalf("%s before, %s after one more failure: %+v", was.Answer, now.Answer, now)
		}
	})
	if made == 0 {
		t.Error("nobody was ever ready, so that nothing was tried")
	}
}

func TestWhole(t *testing.T) {
	ready, never, wrong := &ReadyReport{Answer: IsReady}, &ReadyReport{Answer: NotEnough}, &ReadyReport{Answer: NotYet}
	for _, c := range []struct {
		of   []*ReadyReport
		want Readiness
	}{{nil, NotEnough}, {[]*ReadyReport{ready, ready}, IsReady}, {[]*ReadyReport{never, ready}, NotEnough}, {[]*ReadyReport{never, wrong, ready}, NotYet}} {
		if got := Whole(c.of...); got != c.want {
			t.Errorf("%d together: %s; want %s", len(c.of), got, c.want)
		}
	}
}

func TestCriteria(t *testing.T) {
	if l := DefaultCriteria().Check(); len(l) > 0 {
		t.Errorf("the defaults: %v", l)
	}
	nan := math.NaN()
	number := func(n int) *int { return &n }
	share := func(v float64) *float64 { return &v }
	span := func(d time.Duration) *time.Duration { return &d }
	for path, changes := range map[string][]func(*Criteria){
		"passes_in_a_row": {func(c *Criteria) { c.InARow = 0 }, func(c *Criteria) { c.InARow = 51 }},
		"surprises":       {func(c *Criteria) { c.Surprises = -1 }, func(c *Criteria) { c.Surprises = 4 }},
		"days_apart":      {func(c *Criteria) { c.DaysApart = -1 }, func(c *Criteria) { c.DaysApart = 3661 }},
		"within_days":     {func(c *Criteria) { c.WithinDays = number(-1) }, func(c *Criteria) { c.WithinDays = number(3661) }},
		"recall":          {func(c *Criteria) { c.Recall = &nan }, func(c *Criteria) { c.Recall = share(1.01) }},
		"shown":           {func(c *Criteria) { c.Shown = share(-0.01) }},
		"noticed":         {func(c *Criteria) { c.Noticed = share(80) }},
		"handled":         {func(c *Criteria) { c.Handled = share(2) }},
		"within_par":      {func(c *Criteria) { c.WithinPar = share(-1) }},
		"detection":       {func(c *Criteria) { c.Detection = span(0) }, func(c *Criteria) { c.Detection = span(10*time.Minute + 1) }},
		"parts":           {func(c *Criteria) { c.Parts = make([]string, 101) }},
		"parts[1]":        {func(c *Criteria) { c.Parts = []string{"p", "p"} }},
	} {
		for i, change := range changes {
			c := DefaultCriteria()
			change(c)
			if l := c.Check(); len(l) != 1 || l[0].Path != path || l[0].Remedy == "" {
				t.Errorf("%s, %d: %v", path, i, l)
			}
		}
	}
	at := &Criteria{
		InARow: 50, DaysApart: 3660, Surprises: 50, WithinDays: number(0), Recall: share(0), Shown: share(1), Noticed: share(0), Handled: share(1), WithinPar: share(1),
		Detection: span(10 * time.Minute), Parts: []string{"p", "q"},
	}
	if l := at.Check(); len(l) > 0 {
		t.Errorf("at their bounds: %v", l)
	}
	if l := (&Criteria{InARow: 1}).Check(); len(l) > 0 {
		t.Errorf("at their least: %v", l)
	}
}

func TestUnannounced(t *testing.T) {
	of := func(p scenario.PolicyName) scenario.Scenario { return scenario.Scenario{Policy: p} }
	told := func(s scenario.Scenario, tell string) scenario.Scenario { s.Tell = tell; return s }
	for name, c := range map[string]struct {
		s      scenario.Scenario
		policy scenario.PolicyName
		want   PartKind // that it is one of; empty: none
	}{
		"from memory":              {of(scenario.Recall), "", FlowPart},
		"never told":               {told(of(scenario.Recall), "never"), "", FlowPart},
		"from memory by wish":      {of(scenario.Prompted), scenario.Recall, FlowPart},
		"prompted":                 {of(scenario.Prompted), "", ""},
		"prompted by wish":         {of(scenario.Recall), scenario.Prompted, ""},
		"told after a while":       {told(of(scenario.Recall), "after 10s"), "", ""},
		"told at once":             {told(of(scenario.Alerts), "at once"), "", ""},
		"a part of it":             {scenario.Scenario{Policy: scenario.Recall, Phases: []string{"a"}}, "", ""},
		"watching the other pilot": {of(scenario.Watch), "", ""},
		"alerts alone":             {of(scenario.Alerts), "", WatchPart},
		"all limits":               {of(scenario.Limits), "", LimitsPart},
		"ten limits":               {scenario.Scenario{Policy: scenario.Limits, Questions: 10}, "", LimitsPart},
		"nine limits":              {scenario.Scenario{Policy: scenario.Limits, Questions: 9}, "", ""},
		"limits by wish":           {of(scenario.Recall), scenario.Limits, LimitsPart},
	} {
		for _, kind := range []PartKind{FlowPart, WatchPart, LimitsPart, ""} {
			if got := Unannounced(kind, &c.s, c.policy); got != (kind == c.want && kind != "") {
				t.Errorf("%s, as a %s: %v", name, kind, got)
			}
		}
	}
}

// What would have bent metal is never passed, whatever else is said of it.
func TestEndedBy(t *testing.T) {
	for name, c := range map[string]struct {
		r    score.Result
		want Ended
	}{
		"passed":                  {score.Result{Completed: true, EndedWhy: logbook.Complete, Passed: true}, EndedPassed},
		"criteria not met":        {score.Result{Completed: true, EndedWhy: logbook.Complete}, EndedFailed},
		"stopped":                 {score.Result{EndedWhy: logbook.Outside}, EndedBroken},
		"killed":                  {score.Result{}, EndedBroken},
		"to be inspected":         {score.Result{EndedWhy: logbook.Inspection, Inspections: []string{"NR"}}, EndedFailed},
		"stopped after a limit":   {score.Result{EndedWhy: logbook.Outside, Inspections: []string{"NR"}}, EndedFailed},
		"bent, and said passed":   {score.Result{Completed: true, EndedWhy: logbook.Complete, Passed: true, Inspections: []string{"NR"}}, EndedFailed},
		"put right by the crew":   {score.Result{EndedWhy: logbook.NotRight, Held: []string{"doors"}}, EndedFailed},
		"rightly refused":         {score.Result{Completed: true, EndedWhy: logbook.Refused, Passed: true}, EndedRefused},
		"refused, and not passed": {score.Result{Completed: true, EndedWhy: logbook.Refused}, EndedFailed},
		"refused for nothing":     {score.Result{EndedWhy: logbook.Refused}, EndedFailed},
	} {
		if got := EndedBy(&c.r); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

// What there was nothing to pass in is no attempt, and what was failed or broken off is one all the same.
func TestAttemptOf(t *testing.T) {
	asked, nothing := []score.Criterion{{Met: true}}, []score.Criterion{}
	fire := []score.InjectionResult{{Abnormal: "fire", Outcome: score.Handled}}
	for name, c := range map[string]struct {
		kind     PartKind
		why      logbook.Reason
		passed   bool
		criteria []score.Criterion
		came     []score.InjectionResult
		want     Ended // empty: it is none
	}{
		"a flow":                 {FlowPart, logbook.Complete, true, asked, nil, EndedPassed},
		"without criteria":       {FlowPart, logbook.Complete, true, nothing, nil, ""},
		"without them, bent":     {FlowPart, logbook.Inspection, false, nothing, nil, EndedFailed},
		"without them, left":     {FlowPart, logbook.Outside, false, nothing, nil, EndedBroken},
		"a watch":                {WatchPart, logbook.Complete, true, asked, fire, EndedPassed},
		"a quiet watch":          {WatchPart, logbook.Complete, true, asked, nil, ""},
		"a quiet watch, failed":  {WatchPart, logbook.Complete, false, asked, nil, EndedFailed},
		"a look-alike":           {WatchPart, logbook.Complete, true, asked, []score.InjectionResult{{Harmless: true, Outcome: score.LeftAlone}}, ""},
		"one that nobody saw":    {WatchPart, logbook.Complete, true, asked, []score.InjectionResult{{Outcome: score.Unseen}, {Outcome: score.Unended}}, ""},
		"one that was taken out": {WatchPart, logbook.Complete, true, asked, []score.InjectionResult{{Outcome: score.Cleared}, {Outcome: score.Stood}}, ""},
		"the second of two":      {WatchPart, logbook.Complete, true, asked, append([]score.InjectionResult{{Outcome: score.Unseen}}, fire...), EndedPassed},
		"limits":                 {LimitsPart, logbook.Complete, true, asked, nil, EndedPassed},
	} {
		r := score.Result{Completed: c.why == logbook.Complete, EndedWhy: c.why, Passed: c.passed, Criteria: c.criteria, Injections: c.came,
			Reactions: score.Reactions{Classes: []score.ClassReactions{{WithinPar: 3, Of: 4}, {WithinPar: 2, Of: 5}}}}
		a, is := AttemptOf(c.kind, &r, day0)
		if is != (c.want != "") || is && a != (Attempt{Began: day0, Ended: c.want, WithinPar: 5, Reactions: 9}) {
			t.Errorf("%s: %v, %+v", name, is, a)
		}
	}
}

func TestMeetingsOf(t *testing.T) {
	notice, actions := score.TrialNotice, score.TrialActions
	simple := func(name string) bool { return name == "chip" }
	for name, c := range map[string]struct {
		trials []score.Trial
		want   []Meeting
	}{
		"handled":                  {[]score.Trial{{Kind: notice, Name: "fire", Right: true, ReactionMS: ms(1200)}, {Kind: actions, Name: "fire", Right: true}}, []Meeting{{"fire", true, 1200, true}}},
		"an action too late":       {[]score.Trial{{Kind: notice, Name: "fire", Right: true}, {Kind: actions, Name: "fire", Right: true, Slow: true}}, []Meeting{{"fire", true, 0, false}}},
		"wrong actions":            {[]score.Trial{{Kind: notice, Name: "fire", Right: true}, {Kind: actions, Name: "fire"}}, []Meeting{{"fire", true, 0, false}}},
		"handled once told":        {[]score.Trial{{Kind: notice, Name: "fire"}, {Kind: actions, Name: "fire", Right: true, Told: true}}, []Meeting{{"fire", false, 0, false}}},
		"not noticed":              {[]score.Trial{{Kind: notice, Name: "fire"}}, []Meeting{{"fire", false, 0, false}}},
		"left open":                {[]score.Trial{{Kind: notice, Name: "fire", Right: true}}, []Meeting{{"fire", true, 0, false}}},
		"nothing to do about it":   {[]score.Trial{{Kind: notice, Name: "chip", Right: true}}, []Meeting{{"chip", true, 0, true}}},
		"nothing to do, unnoticed": {[]score.Trial{{Kind: notice, Name: "chip"}}, []Meeting{{"chip", false, 0, false}}},
		"twice": {[]score.Trial{{Kind: score.TrialItem, Name: "fire", Right: true}, {Kind: notice, Name: "fire"}, {Kind: notice, Name: "fire", Right: true}, {Kind: actions, Name: "fire", Right: true}},
			[]Meeting{{"fire", false, 0, false}, {"fire", true, 0, true}}},
		"actions of none":    {[]score.Trial{{Kind: actions, Name: "fire", Right: true}}, nil},
		"actions of another": {[]score.Trial{{Kind: notice, Name: "fire", Right: true}, {Kind: actions, Name: "leak", Right: true}}, []Meeting{{"fire", true, 0, false}}},
		"none":               {[]score.Trial{{Kind: score.TrialStep, Name: "a > b", Right: true}}, nil},
	} {
		if got := MeetingsOf(&Sitting{Trials: c.trials}, simple); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
}
