package score

import "slices"

// order finds the fewest items that have to be taken out of what was done to leave a sequence in the right order, names
// each of them as a deviation, and reports which items are out of place.
func (j *judge) order() (misplaced []bool) {
	misplaced = make([]bool, len(j.items))
	ranks := make([]int, len(j.sequence))
	j.result.Order.Done = make([]string, len(j.sequence))
	for k, i := range j.sequence {
		ranks[k] = j.sheet.Items[i].Rank
		j.result.Order.Done[k] = j.sheet.Items[i].ID
	}
	kept := longestRise(ranks)
	j.result.Order.Deviations = []Deviation{}
	j.result.Order.Omitted = []string{}
	for k := range ranks {
		if kept[k] {
			continue
		}
		d := j.deviation(ranks, k)
		for _, id := range d.Items {
			misplaced[j.index[id]] = true
		}
		j.result.Order.Deviations = append(j.result.Order.Deviations, d)
	}
	return misplaced
}

// deviation names what happened to the item at place k. Two neighbours that are out of order with each other and with
// nobody else are a reversal; anything else jumped.
func (j *judge) deviation(ranks []int, k int) Deviation {
	done := j.result.Order.Done
	after := func(k int) string {
		if k == 0 {
			return ""
		}
		return done[k-1]
	}
	for _, first := range []int{k - 1, k} {
		if first >= 0 && first+1 < len(ranks) && ranks[first] > ranks[first+1] &&
			inversions(ranks, first) == 1 && inversions(ranks, first+1) == 1 {
			return Deviation{Kind: "reversal", Items: []string{done[first], done[first+1]}, After: after(first)}
		}
	}
	kind := "jump-back"
	if slices.ContainsFunc(ranks[k+1:], func(later int) bool { return later < ranks[k] }) {
		kind = "jump-forward"
	}
	return Deviation{Kind: kind, Items: []string{done[k]}, After: after(k)}
}

// inversions counts the items that the one at place k is out of order with.
func inversions(ranks []int, k int) int {
	n := 0
	for i, rank := range ranks {
		if i < k && rank > ranks[k] || i > k && rank < ranks[k] {
			n++
		}
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
