package practice

import (
	"slices"
	"time"
)

// Board is trainees side by side, over what can be compared: the latest complete sitting of each of one kin, and in it what all of them were
// asked.
type Board struct {
	Kin
	Flow   bool // items; otherwise abnormals
	Shared int  // things that all the latest complete sittings asked
	Rows   []BoardRow
}

// BoardRow is one trainee on it.
type BoardRow struct {
	Who                        int // place among those that were given
	Sittings, Complete, Passed int
	Latest                     time.Time // when the latest complete one began; zero without any, and the rest is too
	LatestPassed               bool
	Right                      int     // of Shared
	Timed                      int     // of Shared: right and with a reaction
	MS                         float64 // median of those
}

// SideBySide puts trainees beside each other wherever two of them or more sat the same, in the order of the kin. Rows are in the order of the trainees.
func SideBySide(reviews []*Review) []Board {
	by := map[Kin][]BoardRow{}
	of := map[Kin][]*Series{}
	var kin []Kin
	for who, r := range reviews {
		for i := range r.Series {
			s := &r.Series[i]
			if by[s.Kin] == nil {
				kin = append(kin, s.Kin)
			}
			by[s.Kin] = append(by[s.Kin], BoardRow{Who: who, Sittings: s.Sittings, Complete: s.Complete, Passed: s.Passed})
			of[s.Kin] = append(of[s.Kin], s)
		}
	}
	slices.SortFunc(kin, Kin.compare)
	var list []Board
	for _, k := range kin {
		if len(by[k]) < 2 {
			continue
		}
		b := Board{Kin: k, Rows: by[k], Flow: slices.ContainsFunc(of[k], func(s *Series) bool { return s.Flow })}
		b.fill(of[k])
		list = append(list, b)
	}
	return list
}

// fill compares the latest complete sittings.
func (b *Board) fill(of []*Series) {
	var latest []*attempt
	for _, s := range of {
		if n := len(s.whole); n > 0 && s.Flow == b.Flow {
			latest = append(latest, s.whole[n-1])
		}
	}
	if len(latest) == 0 {
		return
	}
	var shared []Thing
	for i, d := range latest[0].did {
		if latest[0].by[d.thing] == i && !slices.ContainsFunc(latest, func(a *attempt) bool { _, has := a.by[d.thing]; return !has }) {
			shared = append(shared, d.thing)
		}
	}
	b.Shared = len(shared)
	for i, s := range of {
		n := len(s.whole)
		if n == 0 || s.Flow != b.Flow {
			continue
		}
		a, row := s.whole[n-1], &b.Rows[i]
		row.Latest, row.LatestPassed = a.past.Began, a.past.Passed
		var times []float64
		for _, thing := range shared {
			d := &a.did[a.by[thing]]
			row.Right += one(d.right)
			if d.right && d.ms > 0 {
				times = append(times, d.ms)
			}
		}
		row.Timed, row.MS = len(times), median(times)
	}
}

// AbnormalBoard is trainees side by side over the abnormals that all of them have met, of those who have met any.
type AbnormalBoard struct {
	Shared []Thing // in an order that hangs on nothing else
	Rows   []AbnormalRow
}

// AbnormalRow is one trainee on it.
type AbnormalRow struct {
	Who              int // place among those that were given
	Met              int // abnormals, shared or not
	Times            int // that the shared ones were met of late, RecentMost of each at the most
	Right, Unnoticed int // of Times; see Standing
}

// AbnormalsSideBySide puts trainees beside each other who have met abnormals; nil if there are not two of them.
func AbnormalsSideBySide(reviews []*Review) *AbnormalBoard {
	b := &AbnormalBoard{}
	met := map[Thing]int{}
	for who, r := range reviews {
		if len(r.Abnormals) == 0 {
			continue
		}
		b.Rows = append(b.Rows, AbnormalRow{Who: who, Met: len(r.Abnormals)})
		for _, s := range r.Abnormals {
			met[s.Thing]++
		}
	}
	if len(b.Rows) < 2 {
		return nil
	}
	for thing, by := range met {
		if by == len(b.Rows) {
			b.Shared = append(b.Shared, thing)
		}
	}
	slices.SortFunc(b.Shared, Thing.compare)
	for i := range b.Rows {
		row := &b.Rows[i]
		for _, s := range reviews[row.Who].Abnormals {
			if met[s.Thing] == len(b.Rows) {
				row.Times += s.Latest
				row.Right += s.Latest - s.Wrong
				row.Unnoticed += s.Unnoticed
			}
		}
	}
	return b
}
