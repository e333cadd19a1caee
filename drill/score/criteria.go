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
		j.atMost("items out of order", float64(*p.OutOfOrder), float64(j.marked(OutOfOrder)), asked, number)
	}
	if p.FalseConfirms != nil {
		j.atMost("confirmed though not so", float64(*p.FalseConfirms), float64(r.False), asked, number)
	}
	if p.Reaction != nil && r.Reactions.Count > 0 {
		j.atMost("median reaction", p.Reaction.Seconds(), r.Reactions.MedianMS/1000, r.Reactions.Count, seconds)
	}
	if within, of := r.Reactions.withinPar(); p.WithinPar != nil && of > 0 {
		j.atLeast("reactions within par", *p.WithinPar, float64(within)/float64(of), of, percent)
	}
	j.incidentCriteria()
	if p.RedBand != nil {
		worst := 0.0
		for _, x := range r.Extremes {
			worst = max(worst, x.RedS)
		}
		j.atMost("longest time in a red band", p.RedBand.Seconds(), worst, len(r.Extremes), seconds)
	}
	r.Passed = r.Completed && !slices.ContainsFunc(r.Criteria, func(c Criterion) bool { return !c.Met })
}

func (j *judge) incidentCriteria() {
	p := &j.sheet.Pass
	var real, handled, alike, acted int
	var slowest time.Duration
	for _, in := range j.result.Injections {
		switch {
		case in.Harmless:
			alike++
			if in.Outcome == ActedOn {
				acted++
			}
			continue
		case in.Outcome == Unseen:
			continue
		case in.Outcome == Handled || in.Outcome == HandLate:
			handled++
		}
		real++
		switch {
		case in.DetectionMS != nil:
			slowest = max(slowest, time.Duration(*in.DetectionMS*float64(time.Millisecond)))
		case in.Outcome == Handled: // everything stood so already: there was nothing to notice
		default:
			slowest = time.Duration(1<<63 - 1) // never
		}
	}
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

func (j *judge) count(o Outcome) int {
	n := 0
	for _, it := range j.result.Items {
		if it.Outcome == o {
			n++
		}
	}
	return n
}

func (j *judge) marked(o Outcome) int {
	n := 0
	for _, it := range j.result.Items {
		if slices.Contains(it.Marks, o) {
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
	if v > 1e6 {
		return "never"
	}
	return fmt.Sprintf("%.2f s", v)
}
