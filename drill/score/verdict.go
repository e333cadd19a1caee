package score

import (
	"cmp"
	"fmt"
	"slices"
)

// IndexFormula says how the index is made, for the reader of a report.
const IndexFormula = `The index is 100 times the weighted mean of seven shares:
  items     25  items done right, of those to be done: not late, not by rote, not twice
  handling  30  of each abnormal the mean of: noticed before it was told; a right first move; share of its
                actions in time; share in order, less other presses; its end state reached. Half of it if it was
                made worse, nothing if the horn was silenced and nothing else done
  order     15  items in their place, less what was done again, too far, for nothing or at a place that had
                been lost, of those to be done
  reaction  10  reactions within par, of those there should have been: what was left out, raced or by rote is none
  limits    10  one tenth less for each second of a gauge in its red band, but for what an abnormal that was
                handled brought with it
  looking    5  looks that were right: faults found, no false alarm, no stop call with nothing wrong
  resuming   5  interruptions after which the flow was resumed at the right item, unprompted
A part that had nothing to judge is left out, and so is its weight; figures asked in any order have no order. A sitting
that ended because of what had been done in it counts items not reached as not done, abnormals that never came as
not handled, and limits, looking and resuming as nothing. An incomplete sitting has no index.`

// Parts of the index and their weights. Our own figures: what is left undone or mishandled counts most, and haste least.
const (
	weightItems    = 25
	weightHandling = 30
	weightOrder    = 15
	weightReaction = 10
	weightLimits   = 10
	weightLooking  = 5
	weightResuming = 5
)

// redForNothing is the time in red bands at which nothing is left of that part, in seconds. Our own figure.
const redForNothing = 10

// grade makes the index; see IndexFormula.
func (j *judge) grade() {
	r := &j.result
	x := &r.Index
	x.Parts = []Part{}
	part := func(name PartName, weight, sum float64, count int) {
		if r.CutShort() && (name == PartLimits || name == PartLooking || name == PartResuming) {
			sum = 0 // they speak of the whole, and what would have come is not known
		}
		if count > 0 {
			x.Parts = append(x.Parts, Part{Name: name, Weight: weight, Share: sum / float64(count), Count: count})
		}
	}
	part(PartItems, weightItems, float64(j.count(Right)), r.Order.Wanted)
	sum := 0.0
	for _, in := range j.put {
		if in.counts() {
			sum += in.points()
		}
	}
	part(PartHandling, weightHandling, sum, j.toHandle())
	if !j.sheet.Figures { // whoever is asked for one figure after the other has no order to keep
		part(PartOrder, weightOrder, float64(max(0, r.Order.InPlace-r.Order.Beyond)), r.Order.Wanted)
	}
	within, of := r.Reactions.withinPar()
	part(PartReaction, weightReaction, float64(within), of)
	if n := len(r.Extremes); !j.sheet.Figures {
		part(PartLimits, weightLimits, float64(float64(n)*max(0, 1-j.red()/redForNothing)), n)
	}
	looked, looks := r.Looking.share()
	part(PartLooking, weightLooking, float64(looked), looks)
	part(PartResuming, weightResuming, float64(r.Resuming.Kept), r.Resuming.Count)
	if r.ended() && len(x.Parts) > 0 {
		x.Value = x.value()
	}
}

// toHandle is how many abnormals there were to be handled. One that the sitting was cut short before counts: what came of it is
// that it was never met. A look-alike that was drawn in its place does not.
func (j *judge) toHandle() int {
	met, alike := 0, 0
	for _, in := range j.put {
		count(&met, in.counts())
		count(&alike, !in.counts())
	}
	if !j.result.CutShort() {
		return met
	}
	return max(met, j.sheet.Coming-alike)
}

// red is the time of all gauges in their red bands, in seconds, but for what abnormals brought with them that were handled.
func (j *judge) red() float64 {
	sum := 0.0
	for _, x := range j.result.Extremes {
		red := x.RedS
		for i := range j.result.Injections {
			in := &j.result.Injections[i]
			for _, f := range in.Figures {
				if in.Outcome == Handled && f.Gauge == x.Gauge {
					red -= f.RedS
				}
			}
		}
		sum += max(0, red)
	}
	return sum
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
func (in *injection) points() float64 {
	if in.SilencedOnly {
		return 0
	}
	yes := func(b bool) float64 {
		if b {
			return 1
		}
		return 0
	}
	points := []float64{yes(in.noticed), yes(in.recovered())}
	if n := float64(len(in.Actions)); n > 0 {
		order := float64(max(0, in.ActionsInOrder-in.Beside))
		points = append(points, yes(in.Diagnosis == DiagnosedRight), float64(in.ActionsInTime)/n, order/n)
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

// next names what to rehearse: what ended the sitting or would have, then what got away, what was left out or wrong, the order,
// the looking, the resuming, and at last what was only slow.
func (j *judge) next() {
	r := &j.result
	r.Next = []Rehearse{}
	for _, text := range r.Inspections {
		j.rehearse(RehearseLimit, "", text)
	}
	for _, item := range r.Held {
		j.rehearse(RehearseHold, item, "it has to be right before the flow can continue")
	}
	j.nextAbnormals()
	j.nextItems()
	if o := &r.Order; o.OutOfOrder+o.Beyond > 0 {
		j.rehearse(RehearseOrder, j.firstMoved(), fmt.Sprintf("%d departures from the order of %d items", o.OutOfOrder+o.Beyond, o.Wanted))
	}
	if l := &r.Looking; l.Hits < l.Signals || l.FalseAlarms > 0 {
		j.rehearse(RehearseLooking, "", fmt.Sprintf("%d of %d faults missed, %d false alarms in %d looks at something right",
			l.Signals-l.Hits, l.Signals, l.FalseAlarms, l.Noise))
	}
	if r.Resuming.Lost > 0 {
		j.rehearse(RehearseResuming, "", fmt.Sprintf("the place in the flow was lost after %d of %d interruptions", r.Resuming.Lost, r.Resuming.Count))
	}
	for _, c := range r.Reactions.Classes {
		if c.Of >= slowLeast && float64(c.WithinPar) < slowShare*float64(c.Of) {
			j.rehearse(RehearseReaction, string(c.Class), fmt.Sprintf("%d of %d within par, %.1f s", c.WithinPar, c.Of, c.ParMS/1000))
		}
	}
	r.Next = r.Next[:min(len(r.Next), MaxNext)]
}

func (j *judge) rehearse(kind Subject, name, why string) {
	j.result.Next = append(j.result.Next, Rehearse{Kind: kind, Name: name, Why: why})
}

// nextAbnormals names the abnormals that were not handled as they should have been, the worst first.
func (j *judge) nextAbnormals() {
	for _, worst := range []struct {
		why string
		so  func(*InjectionResult) bool
	}{
		{"horn silenced and nothing else done", func(in *InjectionResult) bool { return in.SilencedOnly }},
		{"not noticed", func(in *InjectionResult) bool { return in.Outcome == NotNoticed }},
		{"not recovered", func(in *InjectionResult) bool { return in.Outcome == Lost }},
		{"left open as the flow ended", func(in *InjectionResult) bool { return in.Outcome == LeftOpen }},
		{"made worse", func(in *InjectionResult) bool { return len(in.Worse) > 0 }},
		{"acted on, though nothing was wrong", func(in *InjectionResult) bool { return in.Outcome == ActedOn }},
		{"an action too late", func(in *InjectionResult) bool { return in.Outcome == HandLate }},
		{"first move was a wrong one", func(in *InjectionResult) bool { return in.Diagnosis == DiagnosedWrong }},
		{"actions out of order", func(in *InjectionResult) bool { return in.Outcome == OutOfOrder }},
		{"handled only after it had been told", func(in *InjectionResult) bool { return in.Outcome == ToldFirst }},
	} {
		for i := range j.result.Injections {
			in := &j.result.Injections[i]
			named := slices.ContainsFunc(j.result.Next, func(r Rehearse) bool { return r.Kind == RehearseAbnormal && r.Name == in.Abnormal })
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
			j.rehearse(RehearseAbnormal, in.Abnormal, fmt.Sprintf("%s, %d of %d times", worst.why, times, met))
		}
	}
}

// nextItems names the items that were left out, and those that were answered wrongly, each kind in one.
func (j *judge) nextItems() {
	for _, kind := range []struct {
		outcome Outcome
		why     string
	}{{Omitted, "left out"}, {Wrong, "answered wrongly"}, {Rote, "answered by rote, sooner than anybody could have looked"}} {
		if n := j.count(kind.outcome); n > 0 {
			first := slices.IndexFunc(j.result.Items, func(it ItemResult) bool { return it.Outcome == kind.outcome })
			j.rehearse(RehearseItem, j.result.Items[first].ID, fmt.Sprintf("%s; %d of %d in all", kind.why, n, j.result.Order.Wanted))
		}
	}
}

// firstMoved is the item that the first departure from the order has to do with.
func (j *judge) firstMoved() string {
	for _, d := range j.result.Order.Deviations {
		switch d.Kind {
		case Omission, TooEarly, TooLate:
			continue
		}
		if len(d.Items) > 0 {
			return d.Items[0]
		}
		return cmp.Or(d.After, d.Before)
	}
	return ""
}
