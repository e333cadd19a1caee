package practice

import (
	"fmt"
	"math"
	"slices"
	"time"

	"hornlark/drill/logbook"
	"hornlark/drill/scenario"
	"hornlark/drill/score"
)

// PartKind is what kind of thing somebody can be ready for.
type PartKind string

// The kinds of part.
const (
	FlowPart   PartKind = "flow"   // a procedure that the trainee goes through
	WatchPart  PartKind = "watch"  // one in which nothing flows, and abnormals come
	LimitsPart PartKind = "limits" // the figures of an aircraft
)

// LeastFigures is how many figures have to be asked for in one go to show that the limits are known. Our own figure.
const LeastFigures = 10

// way says how a part is gone through unannounced.
func (k PartKind) way() string {
	switch k {
	case WatchPart:
		return "with nothing told"
	case LimitsPart:
		return fmt.Sprintf("%d figures or more in one go", LeastFigures)
	}
	return "as a whole, from memory, with nothing told"
}

// Unannounced reports whether a sitting by a scenario and a policy (empty: the scenario's own) shows what is known of a part of that kind without
// help: a flow as a whole, done by the trainee, with nobody asking for the items; LeastFigures; and with nothing told of what comes in between.
func Unannounced(kind PartKind, s *scenario.Scenario, policy scenario.PolicyName) bool {
	p, tell := s.Rules(policy)
	switch kind {
	case FlowPart:
		return p.Flow == scenario.Checklist && p.Acts == logbook.Trainee && p.Asks == "" && !tell.Tells && len(s.Phases) == 0
	case WatchPart:
		return p.Flow == scenario.Nothing && !tell.Tells
	case LimitsPart:
		return p.Flow == scenario.Figures && (s.Questions == 0 || s.Questions >= LeastFigures)
	}
	return false
}

// Ended is how a sitting ended, for whether somebody is ready.
type Ended string

// How a sitting can end.
const (
	EndedPassed  Ended = "passed"          // it met its scenario's criteria
	EndedFailed  Ended = "not passed"      // it did not, or something in it would have bent metal or hurt somebody
	EndedBroken  Ended = "broken off"      // somebody stopped it before its end
	EndedRefused Ended = "rightly refused" // a check was rightly refused where that ends it: nothing is known of the rest
)

// EndedBy is how the sitting of a result ended.
func EndedBy(r *score.Result) Ended {
	switch {
	case len(r.Inspections) > 0, len(r.Held) > 0, r.CutShort():
		return EndedFailed
	case !r.Completed:
		return EndedBroken
	case !r.Passed:
		return EndedFailed
	case r.EndedWhy == logbook.Refused:
		return EndedRefused
	}
	return EndedPassed
}

// Attempt is one unannounced sitting of a part.
type Attempt struct {
	Began     time.Time
	Ended     Ended
	Again     bool // what came in it had come in an earlier sitting at the same places
	New       bool // what came in it had not, so that it was a surprise; neither, where nothing came
	DateSet   bool // its date is one that somebody has set, for trying days to come
	WithinPar int  // reactions within par
	Reactions int  // that there should have been
}

// AttemptOf is the attempt that a result was; false if it was none: there was nothing to pass or to fail, without criteria or in a watch in
// which no abnormal came.
func AttemptOf(kind PartKind, r *score.Result, began time.Time) (Attempt, bool) {
	a := Attempt{Began: began, Ended: EndedBy(r)}
	if a.Ended == EndedPassed && (len(r.Criteria) == 0 || kind == WatchPart && !slices.ContainsFunc(r.Injections, came)) {
		return a, false
	}
	for i := range r.Reactions.Classes {
		a.WithinPar += r.Reactions.Classes[i].WithinPar
		a.Reactions += r.Reactions.Classes[i].Of
	}
	return a, true
}

// came reports whether an abnormal showed itself, long enough for somebody to do something about it.
func came(in score.InjectionResult) bool {
	switch in.Outcome {
	case score.Unseen, score.Unended, score.Stood, score.Cleared:
		return false
	}
	return !in.Harmless
}

// Meeting is one time that an abnormal showed itself, in whatever sitting.
type Meeting struct {
	Abnormal string // its name
	Noticed  bool   // untold
	NoticeMS float64
	Handled  bool
}

// MeetingsOf gives the abnormals that showed themselves in a sitting. simple tells those that need no actions from the others: these are
// handled once they are noticed, and those are not if the sitting ended before anything was done.
func MeetingsOf(s *Sitting, simple func(abnormal string) bool) []Meeting {
	var list []Meeting
	for i := range s.Trials {
		t := &s.Trials[i]
		switch t.Kind {
		case score.TrialNotice:
			m := Meeting{Abnormal: t.Name, Noticed: t.Right, Handled: t.Right && simple(t.Name)}
			if t.ReactionMS != nil {
				m.NoticeMS = *t.ReactionMS
			}
			list = append(list, m)
		case score.TrialActions: // stands behind its notice
			if n := len(list); n > 0 && list[n-1].Abnormal == t.Name {
				list[n-1].Handled = list[n-1].Noticed && t.Right && !t.Told && !t.Slow
			}
		}
	}
	return list
}

// Seen is what there is to go by for one part.
type Seen struct {
	Kind      PartKind
	Attempts  []Attempt // as they were sat, the earliest first
	Meetings  []Meeting // the earliest first
	Abnormals []string  // names of all that can come in it
	Things    []Thing   // what there is to know for it
}

// Readiness is an answer to whether somebody is ready.
type Readiness string

// The answers. None of them is a licence.
const (
	IsReady   Readiness = "ready"
	NotYet    Readiness = "not yet"
	NotEnough Readiness = "not enough seen yet"
)

// NoLicence is what stands beside every answer.
const NoLicence = "This is what the records show, and no licence: whether somebody is ready is for the instructor to say."

// ReadyReport is an answer with what it rests on. Abnormals are counted and not named in it, so that nobody learns from it what is
// going to come; Mishandled and Unmet are for the instructor's eyes.
type ReadyReport struct {
	Answer    Readiness `json:"answer"`
	Against   []string  `json:"against"`    // what speaks against it, in words
	Lacking   []string  `json:"lacking"`    // what has not been seen, in words
	InARow    int       `json:"in_a_row"`   // passes that count, up to the latest attempt
	Again     int       `json:"again"`      // of them, those in which what came had come before at the same places
	New       int       `json:"new"`        // of them, those in which it had not
	DateSet   int       `json:"date_set"`   // of them, those whose date was set
	Passes    Share     `json:"passes"`     // of the attempts that came to their end
	BrokenOff int       `json:"broken_off"` // attempts that did not
	WithinPar Share     `json:"within_par"` // of the reactions in the passes that count
	Noticed   Share     `json:"noticed"`    // of the abnormals that were met, the latest time of each
	Handled   Share     `json:"handled"`    // of the same
	SlowestMS float64   `json:"slowest_ms"` // the longest time in which one of them was noticed, the latest time of each; zero of none
	Abnormals int       `json:"abnormals"`  // that can come
	Recall    *float64  `json:"recall"`     // expected to be known on the day: weighted mean over the things that were met, what was wrong the latest time counting as not known; null if none was met
	Right     int       `json:"right"`      // things that were right the latest time
	Met       int       `json:"met"`        // things that were met
	Things    int       `json:"things"`     // that there are

	Mishandled []string `json:"-"` // names of abnormals that were not handled the latest time, in the order of Seen
	Unmet      []string `json:"-"` // names of those that were never met
}

// Ready holds what has been seen of one part against criteria, for a day. What went wrong makes it NotYet, whatever else is lacking; what only
// has not been seen makes it NotEnough. One more failure never makes anybody ready.
func Ready(k *Known, seen *Seen, c *Criteria, day time.Time) *ReadyReport {
	r := &ReadyReport{Against: []string{}, Lacking: []string{}, Abnormals: len(seen.Abnormals), Things: len(seen.Things)}
	r.attempts(seen, c, day)
	r.abnormals(seen, c)
	r.recall(k, seen, c, day)
	switch {
	case len(r.Against) > 0:
		r.Answer = NotYet
	case len(r.Lacking) > 0:
		r.Answer = NotEnough
	default:
		r.Answer = IsReady
	}
	return r
}

func (r *ReadyReport) against(text string, args ...any) {
	r.Against = append(r.Against, fmt.Sprintf(text, args...))
}

func (r *ReadyReport) lacks(text string, args ...any) {
	r.Lacking = append(r.Lacking, fmt.Sprintf(text, args...))
}

// attempts counts passes back from the latest one. Of passes that lie too near to each other the later one counts.
func (r *ReadyReport) attempts(seen *Seen, c *Criteria, day time.Time) {
	passed, ended, timed, within, row := 0, 0, 0, 0, true
	var next, counted time.Time // when the attempt after this one began, and the pass that was counted last
	for i := len(seen.Attempts) - 1; i >= 0; i-- {
		a := &seen.Attempts[i]
		began := a.Began
		if !next.IsZero() && next.Before(began) {
			began = next // a clock was wrong: what was sat before cannot have begun after
		}
		next = began
		switch a.Ended {
		case EndedRefused:
			continue
		case EndedBroken:
			r.BrokenOff, row = r.BrokenOff+1, false
			continue
		case EndedFailed:
			ended, row = ended+1, false
			continue
		}
		passed, ended = passed+1, ended+1
		if row && (r.InARow == 0 || daysFrom(began, counted) >= c.DaysApart) {
			r.InARow, counted = r.InARow+1, began
			timed, within = timed+a.Reactions, within+a.WithinPar
			if a.Again {
				r.Again++
			}
			if a.New {
				r.New++
			}
			if a.DateSet {
				r.DateSet++
			}
		}
	}
	r.Passes, r.WithinPar = ShareOf(passed, ended), ShareOf(within, timed)
	r.row(seen, c, day)
	if c.WithinPar != nil && timed > 0 && r.WithinPar.Value() < *c.WithinPar {
		r.against("Reactions within par in the passes that count: %d of %d; wanted: %s.", within, timed, percentOf(*c.WithinPar))
	}
}

// row says what the attempts lack.
func (r *ReadyReport) row(seen *Seen, c *Criteria, day time.Time) {
	var latest *Attempt
	for i := range seen.Attempts {
		if seen.Attempts[i].Ended != EndedRefused {
			latest = &seen.Attempts[i]
		}
	}
	if latest == nil {
		r.lacks("There is no unannounced sitting of it: %s.", seen.Kind.way())
		return
	}
	on := latest.Began.Format("2 Jan 2006")
	if latest.Ended == EndedFailed {
		r.against("The latest unannounced sitting, of %s, was not passed.", on)
		return
	}
	if latest.Ended == EndedBroken {
		r.lacks("The latest unannounced sitting, of %s, was broken off, and a row ends with it.", on)
	}
	if r.InARow < c.InARow {
		apart := ""
		if c.DaysApart > 0 {
			apart = fmt.Sprintf(" with at least %s between them", days(c.DaysApart))
		}
		r.lacks("Unannounced passes in a row%s: %d; wanted: %d.", apart, r.InARow, c.InARow)
	}
	if len(seen.Abnormals) > 0 && r.New < c.Surprises {
		r.lacks("Of the passes in a row, those in which something came that had not come before at the same places: %d; wanted: %d.", r.New, c.Surprises)
	}
	switch ago := daysFrom(latest.Began, day); {
	case ago < 0:
		r.lacks("The latest unannounced sitting has the date %s, which lies after the day: a clock was wrong, and how far apart sittings are is not certain.", on)
	case c.WithinDays != nil && ago > *c.WithinDays:
		r.lacks("The latest unannounced sitting, of %s, lies more than %s before the day.", on, days(*c.WithinDays))
	}
}

// abnormals goes by the latest time of each.
func (r *ReadyReport) abnormals(seen *Seen, c *Criteria) {
	latest := map[string]Meeting{}
	for _, m := range seen.Meetings {
		latest[m.Abnormal] = m
	}
	noticed, handled := 0, 0
	for _, name := range seen.Abnormals {
		m, met := latest[name]
		if !met {
			r.Unmet = append(r.Unmet, name)
			continue
		}
		if m.Noticed {
			noticed++
			r.SlowestMS = max(r.SlowestMS, m.NoticeMS)
		}
		if m.Handled {
			handled++
		} else {
			r.Mishandled = append(r.Mishandled, name)
		}
	}
	met := len(seen.Abnormals) - len(r.Unmet)
	r.Noticed, r.Handled = ShareOf(noticed, met), ShareOf(handled, met)
	if c.Noticed != nil && met > 0 && r.Noticed.Value() < *c.Noticed {
		r.against("Abnormals noticed, the latest time of each: %d of %d; wanted: %s.", noticed, met, percentOf(*c.Noticed))
	}
	if c.Handled != nil && met > 0 && r.Handled.Value() < *c.Handled {
		r.against("Abnormals handled, the latest time of each: %d of %d; wanted: %s.", handled, met, percentOf(*c.Handled))
	}
	switch {
	case c.Detection == nil:
	case noticed < met:
		r.against("Abnormals that were not noticed, the latest time of each: %d of %d; wanted: all of them in %v.", met-noticed, met, *c.Detection)
	case r.SlowestMS > float64(c.Detection.Milliseconds()):
		r.against("The longest time in which an abnormal was noticed is %.1f s, the latest time of each; wanted: %v.", r.SlowestMS/1000, *c.Detection)
	}
	if total := len(seen.Abnormals); c.Shown != nil && float64(handled) < *c.Shown*float64(total) {
		r.lacks("Abnormals that can come, and were handled the latest time: %d of %d; wanted: %s.", handled, total, percentOf(*c.Shown))
	}
}

// recall is what is expected on the day. The model says of what has just been gone over once more, wrong, that it is known better than
// before; nobody is ready by a mistake, and so it counts as not known until it is right again.
func (r *ReadyReport) recall(k *Known, seen *Seen, c *Criteria, day time.Time) {
	sum, weights := 0.0, 0.0
	for _, t := range seen.Things {
		st := k.States[t]
		if st == nil {
			continue
		}
		r.Met++
		weights += t.Weight()
		if n := len(st.Recent); n > 0 && st.Recent[n-1] {
			r.Right++
			sum += float64(t.Weight() * k.Recall(t, day))
		}
	}
	if weights > 0 {
		recall := sum / weights
		r.Recall = &recall
	}
	if c.Recall != nil && r.Recall != nil && *r.Recall < *c.Recall {
		r.against("Expected to be known on the day, of what was met: %s; wanted: %s.", percentOf(math.Floor(100**r.Recall)/100), percentOf(*c.Recall))
	}
	if c.Shown != nil && float64(r.Right) < *c.Shown*float64(r.Things) {
		r.lacks("Things to know that were right the latest time: %d of %d; wanted: %s.", r.Right, r.Things, percentOf(*c.Shown))
	}
}

// Whole is the answer for several parts together: ready with all of them, or what holds it up most. Without any it is NotEnough.
func Whole(reports ...*ReadyReport) Readiness {
	answer := IsReady
	for _, r := range reports {
		switch r.Answer {
		case NotYet:
			return NotYet
		case NotEnough:
			answer = NotEnough
		}
	}
	if len(reports) == 0 {
		return NotEnough
	}
	return answer
}

// daysFrom is how many dates lie between two moments, as the calendar where each of them is counts.
func daysFrom(from, to time.Time) int {
	date := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return int(date(to).Sub(date(from)) / (24 * time.Hour))
}

func days(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}

func percentOf(share float64) string { return fmt.Sprintf("%.4g %%", 100*share) }
