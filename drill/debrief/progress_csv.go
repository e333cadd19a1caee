package debrief

import (
	"io"
	"strconv"
	"time"

	"hornlark/drill/inert"
	"hornlark/drill/practice"
)

// ProgressColumns are the columns of progress as a table, with what is in them.
var ProgressColumns = []struct{ Name, Means string }{
	{"trainee", "name; empty: nobody gave one"},
	{"about", "trainee, series, curve, item, abnormal, side-by-side or abnormals-side-by-side"},
	{"procedure", "short name, of a series and what belongs to it"},
	{"profile", "short name of the aircraft"},
	{"policy", "prompted, recall, alerts, watch or limits"},
	{"name", "id of the item, name of the abnormal, or when a sitting began: UTC, RFC 3339"},
	{"called", "the same as it is spoken of"},
	{"measure", "what is measured"},
	{"value", "of it; times in ms"},
	{"of", "how many it rests on"},
	{"low", "lower end of its 95 % interval"},
	{"high", "upper end"},
	{"caution", "training aid, not for flight"},
}

// ProgressMeasures are what a table of progress measures, with what it means.
var ProgressMeasures = []struct{ Name, Means string }{
	{"sittings, complete, passed", "how many"},
	{"right_before, median_before_ms", "the complete sitting before the latest one, over what both asked; median of what is timed in both"},
	{"right_now_before, median_now_before_ms", "the latest complete sitting, over the same"},
	{"right_first, median_first_ms, right_now_first, median_now_first_ms", "the same of the first one and the latest"},
	{"wrong_earlier, wrong_later", "in the earlier and the later half of the complete sittings"},
	{"wrong_more", "share that was wrong in the later half less that in the earlier"},
	{"time_ratio", "reactions in the later half to those in the earlier"},
	{"learning", "supported, no trend, slower or too few: what the power law of practice comes to"},
	{"power_a_ms, power_b, power_r2, power_floor_ms", "its figures: T = floor + a N^-b; with a floor the interval is that of b without one"},
	{"curve_ms", "of a sitting: what the curve goes by, after of times on average"},
	{"met", "how often, ever"},
	{"wrong, unnoticed, told", "of the latest times; an item is wrong too if it is not at its place"},
	{"median_ms, pace", "median of the reactions of late, in ms and by their par"},
	{"right, unnoticed", "side by side: over what all of them were asked, or have met"},
}

// progressTable writes rows of a table.
type progressTable struct {
	w      *inert.Table
	called *Called
}

// where is what a row is about.
type where struct{ trainee, about, procedure, profile, policy, name, called string }

func (t *progressTable) row(at where, measure, value, of, low, high string) {
	t.w.Write([]string{at.trainee, at.about, at.procedure, at.profile, at.policy, at.name, at.called, measure, value, of, low, high, Caution})
}

func (t *progressTable) count(at where, measure string, n int) {
	t.row(at, measure, strconv.Itoa(n), "", "", "")
}

func (t *progressTable) share(at where, measure string, n, of int) {
	t.row(at, measure, strconv.Itoa(n), strconv.Itoa(of), "", "")
}

// figure writes a measured value, if it rests on anything.
func (t *progressTable) figure(at where, measure string, v float64, of int) {
	if of > 0 {
		t.row(at, measure, decimal(v), strconv.Itoa(of), "", "")
	}
}

// decimal is a figure to six digits: it is measured or fitted, and never better than that.
func decimal(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }

// Table writes progress as CSV (RFC 4180): a header, then a row for each measure.
func (p *Progress) Table(out io.Writer) error {
	t := &progressTable{inert.NewTable(out), &p.Called}
	header := make([]string, len(ProgressColumns))
	for i, c := range ProgressColumns {
		header[i] = c.Name
	}
	t.w.Write(header)
	for i := range p.People {
		if p.Class {
			break
		}
		t.person(&p.People[i])
	}
	for i := range p.Boards {
		b := &p.Boards[i]
		for k := range b.Rows {
			r := &b.Rows[k]
			at := t.of(p.People[r.Who].Key, "side-by-side", b.Kin)
			t.count(at, "sittings", r.Sittings)
			t.share(at, "complete", r.Complete, r.Sittings)
			t.share(at, "passed", r.Passed, r.Sittings)
			if !r.Latest.IsZero() && b.Shared > 0 {
				t.share(at, "right", r.Right, b.Shared)
				t.figure(at, "median_ms", r.MS, r.Timed)
			}
		}
	}
	if b := p.Abnormals; b != nil {
		for k := range b.Rows {
			r := &b.Rows[k]
			at := where{trainee: p.People[r.Who].Key, about: "abnormals-side-by-side"}
			t.count(at, "met", r.Met)
			if r.Times > 0 {
				t.share(at, "right", r.Right, r.Times)
				t.share(at, "unnoticed", r.Unnoticed, r.Times)
			}
		}
	}
	return t.w.Close()
}

func (t *progressTable) of(trainee, about string, k practice.Kin) where {
	return where{trainee: trainee, about: about, procedure: k.Procedure, profile: k.Profile, policy: k.Policy, called: t.called.Procedures[k.Procedure]}
}

func (t *progressTable) person(p *Person) {
	at := where{trainee: p.Key, about: "trainee"}
	t.count(at, "sittings", p.Sittings)
	t.share(at, "complete", p.Complete, p.Sittings)
	t.share(at, "passed", p.Passed, p.Sittings)
	if p.Review == nil {
		return
	}
	for i := range p.Review.Series {
		t.series(p.Key, &p.Review.Series[i])
	}
	for i := range p.Review.Abnormals {
		s := &p.Review.Abnormals[i]
		at := where{trainee: p.Key, about: "abnormal", profile: s.Of, name: s.Name, called: t.called.Things[s.Thing]}
		t.standing(at, s)
		t.share(at, "unnoticed", s.Unnoticed, s.Latest)
		t.share(at, "told", s.Told, s.Latest)
	}
}

func (t *progressTable) series(trainee string, s *practice.Series) {
	at := t.of(trainee, "series", s.Kin)
	t.count(at, "sittings", s.Sittings)
	t.share(at, "complete", s.Complete, s.Sittings)
	t.share(at, "passed", s.Passed, s.Sittings)
	t.change(at, "before", s.Last)
	t.change(at, "first", s.First)
	if p := s.Pace; p != nil {
		t.share(at, "wrong_earlier", p.WrongThen, p.OfThen)
		t.share(at, "wrong_later", p.WrongNow, p.OfNow)
		t.row(at, "wrong_more", decimal(p.More), strconv.Itoa(p.OfThen+p.OfNow), decimal(p.MoreLow), decimal(p.MoreHigh))
		if p.Times() != practice.Untold {
			t.row(at, "time_ratio", decimal(p.Ratio), strconv.Itoa(p.Timed), decimal(p.RatioLow), decimal(p.RatioHigh))
		}
	}
	c := &s.Curve
	t.row(at, "learning", string(c.Learning), strconv.Itoa(c.Of), "", "")
	if c.Learning != practice.TooFewTimes {
		t.figure(at, "power_a_ms", c.A, c.Of)
		t.row(at, "power_b", decimal(c.B), strconv.Itoa(c.Of), decimal(c.Low), decimal(c.High))
		t.figure(at, "power_r2", c.R2, c.Of)
		if c.Floor > 0 {
			t.figure(at, "power_floor_ms", c.Floor, c.Of)
		}
	}
	for _, point := range c.Points {
		at := t.of(trainee, "curve", s.Kin)
		at.name = point.Began.UTC().Format(time.RFC3339)
		t.row(at, "curve_ms", decimal(point.MS), decimal(point.N), "", "")
	}
	for i := range s.Standings {
		st := &s.Standings[i]
		at := t.of(trainee, "item", s.Kin)
		at.name, at.called = st.Name, t.called.Things[st.Thing]
		t.standing(at, st)
	}
}

// change writes what two sittings were, over what both asked.
func (t *progressTable) change(at where, against string, c *practice.Change) {
	if c == nil || c.Things == 0 {
		return
	}
	t.share(at, "right_"+against, c.RightThen, c.Things)
	t.share(at, "right_now_"+against, c.RightNow, c.Things)
	t.figure(at, "median_"+against+"_ms", c.MSThen, c.Timed)
	t.figure(at, "median_now_"+against+"_ms", c.MSNow, c.Timed)
}

func (t *progressTable) standing(at where, s *practice.Standing) {
	t.count(at, "met", s.Met)
	t.share(at, "wrong", s.Wrong, s.Latest)
	t.figure(at, "median_ms", s.MS, s.Timed)
	if s.Pace > 0 {
		t.figure(at, "pace", s.Pace, s.Timed)
	}
}
