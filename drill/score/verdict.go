package score

import (
	"fmt"
	"slices"
)

// IndexFormula says how the index is made, for the reader of a report.
const IndexFormula = `The index is 100 times the weighted mean of six shares:
  items     30  items done right, of those asked
  handling  30  of each abnormal the mean of: noticed; first move one of its actions; share of its actions in
                time; share in order; recovered. Half of it if it was made worse, nothing if the horn was
                silenced and nothing else done
  order     20  items in their place, of those to be done
  reaction  10  reactions within par, of those there should have been
  looking    5  looks that were right: what was wrong found, what was not left alone
  resuming   5  interruptions after which the flow was gone on with at the right item, unprompted
A part that nothing was seen of is left out, and so is its weight. A sitting that is incomplete has no index.`

// Parts of the index and their weights. Our own figures: what is left undone or mishandled counts most, and haste least.
const (
	weightItems    = 30
	weightHandling = 30
	weightOrder    = 20
	weightReaction = 10
	weightLooking  = 5
	weightResuming = 5
)

// grade makes the index; see IndexFormula.
func (j *judge) grade() {
	r := &j.result
	x := &r.Index
	x.Parts = []Part{}
	part := func(name string, weight, sum float64, count int) {
		if count > 0 {
			x.Parts = append(x.Parts, Part{Name: name, Weight: weight, Share: sum / float64(count), Count: count})
		}
	}
	part("items", weightItems, float64(j.count(Right)), len(r.Items)-j.count(NotAsked)-j.count(NotReached))
	sum := 0.0
	for _, in := range j.incident {
		if in.wrongs() {
			sum += in.points()
		}
	}
	part("handling", weightHandling, sum, r.Handling.Count)
	part("order", weightOrder, float64(r.Order.InPlace), r.Order.Wanted)
	within, of := r.Reactions.withinPar()
	part("reaction", weightReaction, float64(within), of)
	l := &r.Looking
	part("looking", weightLooking, float64(l.Hits+l.Noise-l.FalseAlarms), l.Signals+l.Noise)
	part("resuming", weightResuming, float64(r.Resuming.Kept), r.Resuming.Count)
	if r.Completed && len(x.Parts) > 0 {
		x.Value = x.value()
	}
}

// value is the weighted mean of the shares, in percent, to a hundredth.
func (x *Index) value() *float64 {
	sum, weight := 0.0, 0.0
	for _, p := range x.Parts {
		sum += float64(p.Weight * p.Share)
		weight += p.Weight
	}
	v := float64(int(float64(sum/weight*10000)+0.5)) / 100
	return &v
}

// points is how well an abnormal was handled, from 0 to 1.
func (in *incident) points() float64 {
	if in.SilencedOnly {
		return 0
	}
	yes := func(b bool) float64 {
		if b {
			return 1
		}
		return 0
	}
	recovered := in.Outcome == Handled || in.Outcome == HandLate
	points := []float64{yes(in.DetectionMS != nil), yes(recovered)}
	if n := float64(len(in.Actions)); n > 0 {
		points = append(points, yes(in.Diagnosis == DiagnosedRight), float64(in.ActionsInTime)/n, float64(in.ActionsInOrder)/n)
	}
	if len(in.Worse) > 0 {
		return mean(points) / 2
	}
	return mean(points)
}

// MaxNext is how many things to rehearse are named at the most. More than that is no longer a plan.
const MaxNext = 5

// The share of reactions within par below which a class of cue is worth rehearsing, and how many it takes to say so. Our
// own figures.
const (
	slowShare = 0.75
	slowLeast = 3
)

// next names what to rehearse: what got away first, then what was left out or wrong, then the order, the looking, the
// resuming, and at last what was only slow.
func (j *judge) next() {
	j.result.Next = []Rehearse{}
	j.nextAbnormals()
	j.nextItems()
	r := &j.result
	if moved := j.marked(OutOfOrder); moved > 0 {
		j.rehearse("order", j.firstMoved(), fmt.Sprintf("%d of %d items out of order, the first of them here", moved, r.Order.Wanted))
	}
	if l := &r.Looking; l.Hits < l.Signals || l.FalseAlarms > 0 {
		j.rehearse("looking", "", fmt.Sprintf("%d of %d that were wrong got by, %d of %d that were right were refused",
			l.Signals-l.Hits, l.Signals, l.FalseAlarms, l.Noise))
	}
	if r.Resuming.Lost > 0 {
		j.rehearse("resuming", "", fmt.Sprintf("the place in the flow was lost after %d of %d interruptions", r.Resuming.Lost, r.Resuming.Count))
	}
	for _, c := range r.Reactions.Classes {
		if c.Count >= slowLeast && float64(c.WithinPar) < slowShare*float64(c.Count) {
			j.rehearse("reaction", c.Class, fmt.Sprintf("%d of %d within par, %.1f s", c.WithinPar, c.Count, c.ParMS/1000))
		}
	}
	r.Next = r.Next[:min(len(r.Next), MaxNext)]
}

func (j *judge) rehearse(kind, name, why string) {
	j.result.Next = append(j.result.Next, Rehearse{Kind: kind, Name: name, Why: why})
}

// nextAbnormals names the abnormals that were not handled as they should have been, the worst first.
func (j *judge) nextAbnormals() {
	for _, worst := range []struct {
		why string
		so  func(*InjectionResult) bool
	}{
		{"horn silenced and nothing else done", func(in *InjectionResult) bool { return in.SilencedOnly }},
		{"got away", func(in *InjectionResult) bool { return in.Outcome == Lost }},
		{"made worse", func(in *InjectionResult) bool { return len(in.Worse) > 0 }},
		{"acted on although nothing was wrong", func(in *InjectionResult) bool { return in.Outcome == ActedOn }},
		{"an action too late", func(in *InjectionResult) bool { return in.Outcome == HandLate }},
		{"first move was another one", func(in *InjectionResult) bool { return in.Diagnosis == DiagnosedWrong }},
	} {
		for i := range j.result.Injections {
			in := &j.result.Injections[i]
			named := slices.ContainsFunc(j.result.Next, func(r Rehearse) bool { return r.Kind == "abnormal" && r.Name == in.Abnormal })
			if !worst.so(in) || named {
				continue
			}
			met, times := 0, 0
			for k := range j.result.Injections {
				if other := &j.result.Injections[k]; other.Abnormal == in.Abnormal {
					met++
					if worst.so(other) {
						times++
					}
				}
			}
			j.rehearse("abnormal", in.Abnormal, fmt.Sprintf("%s, %d of %d times", worst.why, times, met))
		}
	}
}

// nextItems names the items that were left out, and those that were answered wrongly, each kind in one.
func (j *judge) nextItems() {
	for _, kind := range []struct {
		outcome Outcome
		why     string
	}{{Omitted, "left out"}, {Wrong, "answered wrongly"}} {
		if n := j.count(kind.outcome); n > 0 {
			first := slices.IndexFunc(j.result.Items, func(it ItemResult) bool { return it.Outcome == kind.outcome })
			asked := len(j.result.Items) - j.count(NotAsked) - j.count(NotReached)
			j.rehearse("item", j.result.Items[first].ID, fmt.Sprintf("%s; %d of %d in all", kind.why, n, asked))
		}
	}
}

// firstMoved is the first item that is out of order.
func (j *judge) firstMoved() string {
	for _, it := range j.result.Items {
		if slices.Contains(it.Marks, OutOfOrder) {
			return it.ID
		}
	}
	return ""
}
