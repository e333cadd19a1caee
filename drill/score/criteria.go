package score

import (
	"fmt"
	"slices"
	"time"
)

// criteria holds the result against what had to be reached.
func (j *judge) criteria() {
	r, p := &j.result, &j.sheet.Pass
	asked := len(r.Items) - j.count(NotAsked)
	r.Criteria = []Criterion{}
	if p.Right != nil && asked > 0 {
		share := float64(j.count(Right)) / float64(asked)
		j.atLeast("items right", *p.Right, share, asked, percent)
	}
	if p.Omitted != nil {
		j.atMost("items omitted", float64(*p.Omitted), float64(j.count(Omitted)), asked, number)
	}
	if p.OutOfOrder != nil {
		j.atMost("done out of order", float64(*p.OutOfOrder), float64(r.Order.OutOfOrder), asked, number)
	}
	if p.FalseConfirms != nil {
		j.atMost("confirmed though not so", float64(*p.FalseConfirms), float64(r.False), asked, number)
	}
	if p.Reaction != nil && r.Reactions.Of > 0 {
		j.atMost("median reaction", p.Reaction.Seconds(), r.Reactions.MedianMS/1000, r.Reactions.Of, seconds)
	}
	if within, of := r.Reactions.withinPar(); p.WithinPar != nil && of > 0 {
		j.atLeast("reactions within par", *p.WithinPar, float64(within)/float64(of), of, percent)
	}
	j.injectionCriteria()
	if p.RedBand != nil {
		worst := 0.0
		for _, x := range r.Extremes {
			worst = max(worst, x.RedS)
		}
		j.atMost("longest time in a red band", p.RedBand.Seconds(), worst, len(r.Extremes), seconds)
	}
	clean := len(r.Inspections) == 0 && len(r.Held) == 0
	r.Passed = r.Completed && clean && !slices.ContainsFunc(r.Criteria, func(c Criterion) bool { return !c.Met })
}

func (j *judge) injectionCriteria() {
	p := &j.sheet.Pass
	var handled, alike, acted int
	var slowest time.Duration
	for _, in := range j.put {
		switch {
		case in.Outcome == ActedOn:
			acted++
			alike++
		case in.Outcome == LeftAlone:
			alike++
		}
		if !in.counts() {
			continue
		}
		count(&handled, in.Outcome == Handled)
		if in.noticed {
			slowest = max(slowest, in.at-in.onset)
		} else {
			slowest = never
		}
	}
	real := j.toHandle()
	if p.Handled != nil && real > 0 {
		j.atLeast("abnormals handled", *p.Handled, float64(handled)/float64(real), real, percent)
	}
	if p.Detection != nil && real > 0 {
		j.atMost("longest time to notice", p.Detection.Seconds(), slowest.Seconds(), real, seconds)
	}
	if p.LookAlikes != nil && alike > 0 {
		j.atMost("look-alikes acted on", float64(*p.LookAlikes), float64(acted), alike, number)
	}
}

// never is longer than any sitting.
const never = time.Duration(1<<63 - 1)

func (j *judge) count(o Outcome) int {
	n := 0
	for _, it := range j.result.Items {
		if it.Outcome == o {
			n++
		}
	}
	return n
}

func (j *judge) atLeast(name string, want, got float64, count int, show func(float64) string) {
	j.result.Criteria = append(j.result.Criteria,
		Criterion{name, "at least " + show(want), show(got), got >= want, count, got})
}

func (j *judge) atMost(name string, want, got float64, count int, show func(float64) string) {
	j.result.Criteria = append(j.result.Criteria,
		Criterion{name, "at most " + show(want), show(got), got <= want, count, got})
}

func percent(v float64) string { return fmt.Sprintf("%.1f %%", 100*v) }
func number(v float64) string  { return fmt.Sprintf("%.0f", v) }

func seconds(v float64) string {
	if v == never.Seconds() {
		return "never"
	}
	return fmt.Sprintf("%.2f s", v)
}
