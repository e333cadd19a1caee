package score

import (
	"cmp"
	"slices"
	"time"

	"hornlark/drill/procedure"
)

// order aligns what was done with what was wanted, and reports which items are out of place: one for each departure, so that
// of two neighbours that were swapped it is the one that was done too soon.
//
// Every item is done once at the most (what is done again is kept apart), and items that may be swapped share a rank. An
// alignment is then a sequence of ranks that never falls, and the best one is the longest: what is left out of it is the
// fewest items that have to be moved.
func (j *judge) order() (misplaced []bool) {
	misplaced = make([]bool, len(j.items))
	ranks := make([]int, len(j.sequence))
	o := &j.result.Order
	o.Done = make([]string, len(j.sequence))
	o.Deviations, o.Omitted = []Deviation{}, []string{}
	for k, s := range j.sequence {
		ranks[k] = j.sheet.Items[s.item].Rank
		o.Done[k] = j.sheet.Items[s.item].ID
	}
	kept := longestRise(ranks)
	for k := range ranks {
		if kept[k] {
			o.InPlace++
			continue
		}
		d := j.misplacement(ranks, k)
		misplaced[j.index[d.Items[0]]] = true
		o.OutOfOrder++
		o.Deviations = append(o.Deviations, d)
	}
	o.TauB, o.TauCount = agreement(ranks), len(ranks)
	return misplaced
}

// agreement is tau-b of the order in which items were done and the one that was wanted. Items that may be swapped are
// taken to have been wanted as they were done, so that there are no ties and a group costs nothing.
func agreement(ranks []int) *float64 {
	done := make([]float64, len(ranks))
	for k := range done {
		done[k] = float64(k)
	}
	tau, ok := TauB(ranksOf(ranks), done)
	if !ok {
		return nil
	}
	return &tau
}

// misplacement names what happened to the item at place k. Two neighbours that are out of order with each other and with
// nobody else are a reversal, of which it is the first; anything else jumped.
func (j *judge) misplacement(ranks []int, k int) Deviation {
	if k+1 < len(ranks) && inversions(ranks, k) == 1 && inversions(ranks, k+1) == 1 {
		return j.between(Deviation{Kind: Reversal}, k, k+1)
	}
	kind := JumpBack
	if slices.ContainsFunc(ranks[k+1:], func(later int) bool { return later < ranks[k] }) {
		kind = JumpForward
	}
	return j.between(Deviation{Kind: kind}, k, k)
}

// between fills in which items were done from the first place to the last, and which ones around them.
func (j *judge) between(d Deviation, first, last int) Deviation {
	done := j.result.Order.Done
	d.Items = slices.Clone(done[first : last+1])
	d.number, d.AtMS = j.sequence[first].number, millis(j.sequence[first].at)
	if first > 0 {
		d.After = done[first-1]
	}
	if last+1 < len(done) {
		d.Before = done[last+1]
	}
	return d
}

// inversions counts the items that the one at place k is out of order with.
func inversions(ranks []int, k int) int {
	n := 0
	for _, before := range ranks[:k] {
		count(&n, before > ranks[k])
	}
	for _, after := range ranks[k:] {
		count(&n, after < ranks[k])
	}
	return n
}

// longestRise marks the members of a longest subsequence that never falls: what is left of a sequence once the fewest
// items have been taken out of it. It is the patience method, in n log n.
func longestRise(ranks []int) []bool {
	var tails []int // tails[l]: place of the smallest last member of a rise of length l+1
	before := make([]int, len(ranks))
	for k, rank := range ranks {
		// The first tail that is greater gives way; an equal one may be followed.
		l, _ := slices.BinarySearchFunc(tails, rank, func(place, rank int) int {
			if ranks[place] <= rank {
				return -1
			}
			return 1
		})
		before[k] = -1
		if l > 0 {
			before[k] = tails[l-1]
		}
		if l == len(tails) {
			tails = append(tails, k)
		} else {
			tails[l] = k
		}
	}
	kept := make([]bool, len(ranks))
	if len(tails) > 0 {
		for k := tails[len(tails)-1]; k >= 0; k = before[k] {
			kept[k] = true
		}
	}
	return kept
}

// deviations completes the list: beside what is out of place, what was left out, done again, done for nothing or too far, and
// done too early or too late. What follows from having lost the place after an interruption is put together as that, and so is
// what follows from having left an item out. Then it gives the figure of the order.
func (j *judge) deviations() {
	for i := range j.items {
		j.itemDeviation(i)
	}
	for _, s := range j.beyondOmissions() {
		d := Deviation{Kind: s.kind, Items: []string{}, Control: s.control}
		if s.item >= 0 {
			d.Items = []string{j.sheet.Items[s.item].ID}
		}
		j.note(d, s.number, s.at)
	}
	for _, in := range j.put {
		if in.Place == PlaceLost {
			j.placeLosing(in)
		}
	}
	o := &j.result.Order
	slices.SortStableFunc(o.Deviations, func(a, b Deviation) int { return cmp.Compare(a.number, b.number) })
	for _, d := range o.Deviations {
		count(&o.Beyond, d.beyond())
	}
	if o.Wanted > 0 {
		o.Figure = share(max(0, o.InPlace-o.Beyond), o.Wanted)
	}
}

// beyond reports whether a departure is one beside what keeps an item from being in its place.
func (d *Deviation) beyond() bool {
	switch d.Kind {
	case Repetition, Intrusion, Overshot:
		return true
	case PlaceLosing:
		return d.SeenAs == "" || d.SeenAs == Repetition || d.SeenAs == Intrusion // no other is seen of it that is beside
	}
	return false
}

// beyondOmissions is what was done beyond what was wanted, but for moves of a control that an item wanted that was left out:
// whoever moves it where nobody looked for that has left out one thing, and not done another for nothing.
func (j *judge) beyondOmissions() []slip {
	wanted := map[string]int{} // how many items that were left out want a control
	for i := range j.items {
		if j.result.Items[i].Outcome == Omitted {
			for _, control := range j.sheet.Items[i].Controls {
				wanted[control]++
			}
		}
	}
	var left []slip
	last := ""
	for _, s := range j.extra {
		if s.kind != Intrusion {
			left, last = append(left, s), ""
			continue
		}
		if s.control != last && wanted[s.control] > 0 { // steps of one move are one
			wanted[s.control]--
			last = s.control
		}
		if s.control != last {
			left, last = append(left, s), ""
		}
	}
	return left
}

// itemDeviation notes that an item was left out, or done too early or too late in its turn. One that is out of place is not
// early or late as well: that follows.
func (j *judge) itemDeviation(i int) {
	it, r := &j.items[i], &j.result.Items[i]
	d := Deviation{Items: []string{r.ID}}
	switch {
	case r.Outcome == Omitted:
		d.Kind = Omission
		j.omission(d, i)
		return
	case !it.done || slices.Contains(r.Marks, OutOfOrder):
		return
	case j.sheet.Items[i].Kind == procedure.Callout && it.called && !it.right:
		d.Kind = TooLate
		if it.offset < 0 {
			d.Kind = TooEarly
		}
	case r.Anticipated, r.Ahead:
		d.Kind = TooEarly
	case slices.Contains(r.Marks, Late):
		d.Kind = TooLate
	default:
		return
	}
	k := slices.IndexFunc(j.sequence, func(s step) bool { return s.item == i })
	j.result.Order.Deviations = append(j.result.Order.Deviations, j.between(d, k, k))
}

// omission notes an item that was left out between those that were done nearest to its place in the procedure.
func (j *judge) omission(d Deviation, i int) {
	for k := i - 1; k >= 0 && d.After == ""; k-- {
		if j.items[k].done {
			d.After = j.sheet.Items[k].ID
		}
	}
	for k := i + 1; k < len(j.items) && d.Before == ""; k++ {
		if j.items[k].done {
			d.Before = j.sheet.Items[k].ID
		}
	}
	d.number = j.result.LogEvents
	if it := &j.items[i]; it.timedOut {
		d.number, d.AtMS = it.gaveUp.number, millis(it.gaveUp.at)
	}
	j.result.Order.Deviations = append(j.result.Order.Deviations, d)
}

// note adds a deviation at a moment of the log, between what was done before and after it.
func (j *judge) note(d Deviation, number int, at time.Duration) {
	d.number, d.AtMS = number, millis(at)
	for k, s := range j.sequence {
		if s.number < number {
			d.After = j.result.Order.Done[k]
		} else if d.Before == "" && !slices.Contains(d.Items, j.result.Order.Done[k]) {
			d.Before = j.result.Order.Done[k]
		}
	}
	j.result.Order.Deviations = append(j.result.Order.Deviations, d)
}

// placeLosing puts together what came of not having gone on at the right item: that one left out or done after others, the
// one that was done instead, or what had been done already done again.
func (j *judge) placeLosing(in *injection) {
	d := Deviation{Kind: PlaceLosing, Items: []string{cmp.Or(in.WentOnAt, in.ShouldHaveBeen)}}
	list := &j.result.Order.Deviations
	*list = slices.DeleteFunc(*list, func(other Deviation) bool {
		if !j.follows(in, &other) {
			return false
		}
		d.SeenAs = cmp.Or(d.SeenAs, other.Kind)
		return true
	})
	j.note(d, in.wentOn.number, in.wentOn.at)
}

// follows reports whether a deviation is what is seen of the place that was lost.
func (j *judge) follows(in *injection, d *Deviation) bool {
	switch {
	case d.Kind == PlaceLosing:
		return false
	case in.Resumed == ResumedTwice:
		return (d.Kind == Repetition || d.Kind == Intrusion) && *d.AtMS == *millis(in.wentOn.at)
	case d.Kind == Intrusion || d.Kind == Repetition || d.Kind == Overshot || d.Kind == TooEarly || d.Kind == TooLate:
		return false
	}
	due, dueKnown := j.index[in.ShouldHaveBeen]
	went, wentKnown := j.index[in.WentOnAt]
	if !dueKnown || !wentKnown { // as where it was resumed only once it had been prompted
		return false
	}
	return slices.ContainsFunc(d.Items, func(id string) bool {
		i := j.index[id]
		passed := j.sheet.Items[i].Rank >= j.sheet.Items[due].Rank && j.sheet.Items[i].Rank < j.sheet.Items[went].Rank
		return i == went || passed
	})
}
