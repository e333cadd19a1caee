package bench

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Candidate is a seed that a course can be made of: what comes with it, and how well stand-ins did.
type Candidate struct {
	Seed       uint64             `json:"seed"`
	Expected   float64            `json:"expected"` // mean index of the stand-in over some sittings with this seed, 0 to 100
	Error      float64            `json:"error"`    // standard error of that
	Injections []InjectionOutcome `json:"injections"`

	scores []float64
}

// Take adds a sitting with the seed. One that came to nothing counts as an index of 0. What comes is that of the first.
func (c *Candidate) Take(s *Sitting) {
	if len(c.scores) == 0 {
		c.Seed, c.Injections = s.Seed, s.Injections
	}
	v := 0.0
	if s.Index != nil {
		v = *s.Index
	}
	c.scores = append(c.scores, v)
	c.Expected, c.Error = meanOf(c.scores)
}

// meanOf is the mean and its standard error; that of one figure is 0.
func meanOf(v []float64) (mean, err float64) {
	for _, x := range v {
		mean += x
	}
	n := float64(len(v))
	mean /= n
	if len(v) < 2 {
		return mean, 0
	}
	sum := 0.0
	for _, x := range v {
		sum += float64((x - mean) * (x - mean))
	}
	return mean, math.Sqrt(sum / (n - 1) / n)
}

// Course is seeds of about the same difficulty, whose surprises are as different as could be had.
type Course struct {
	Seeds     []Candidate `json:"seeds"`
	From      int         `json:"from"`           // candidates
	Spread    float64     `json:"spread"`         // standard deviation of what is expected of the chosen
	Least     float64     `json:"least"`          // of them
	Most      float64     `json:"most"`           // of them
	AllSpread float64     `json:"all_spread"`     // standard deviation of all candidates
	Distance  float64     `json:"least_distance"` // of any two of the chosen, see Distance
}

// errAllAlike is returned for candidates that all have the same surprises.
var errAllAlike = errors.New("every seed brings the same at the same moments: nothing in the scenario is drawn")

// MakeCourse chooses so many of the candidates. Those are eligible that are nearest to the median in what is expected, a third of all and
// twice as many as wanted at least; of them the one in the middle is taken, and then again and again the one whose least distance to those taken is greatest. It
// errs where the candidates are too few or all alike.
func MakeCourse(candidates []Candidate, wanted int) (*Course, error) {
	if wanted < 1 || len(candidates) < 2*wanted {
		return nil, fmt.Errorf("%d seeds were tried; a course of %d is chosen from %d at least", len(candidates), wanted, 2*wanted)
	}
	left := slices.Clone(candidates)
	all := expectedOf(left)
	slices.Sort(all)
	median := all[(len(all)-1)/2]
	slices.SortStableFunc(left, func(a, b Candidate) int {
		return cmp.Or(cmp.Compare(math.Abs(a.Expected-median), math.Abs(b.Expected-median)), cmp.Compare(a.Seed, b.Seed))
	})
	left = left[:max(2*wanted, len(left)/3)]
	c := &Course{From: len(candidates), Seeds: []Candidate{left[0]}, Distance: math.Inf(1)}
	left = left[1:]
	nearest := make([]float64, len(left))
	for i := range nearest {
		nearest[i] = Distance(left[i].Injections, c.Seeds[0].Injections)
	}
	for len(c.Seeds) < wanted {
		far := 0
		for i := range left {
			if nearest[i] > nearest[far] || nearest[i] == nearest[far] && left[i].Seed < left[far].Seed {
				far = i
			}
		}
		c.Distance = min(c.Distance, nearest[far])
		chosen := left[far]
		c.Seeds = append(c.Seeds, chosen)
		left, nearest = slices.Delete(left, far, far+1), slices.Delete(nearest, far, far+1)
		for i := range left {
			nearest[i] = min(nearest[i], Distance(left[i].Injections, chosen.Injections))
		}
	}
	if math.IsInf(c.Distance, 1) {
		c.Distance = 0
	}
	if wanted > 1 && c.Distance == 0 && !slices.ContainsFunc(candidates, func(o Candidate) bool { return Distance(o.Injections, candidates[0].Injections) > 0.02 }) {
		return nil, errAllAlike
	}
	chosen := expectedOf(c.Seeds)
	c.Spread, c.AllSpread = deviation(chosen), deviation(all)
	c.Least, c.Most = slices.Min(chosen), slices.Max(chosen)
	return c, nil
}

func expectedOf(list []Candidate) []float64 {
	out := make([]float64, len(list))
	for i := range list {
		out[i] = list[i].Expected
	}
	return out
}

// deviation is the standard deviation; of one figure it is 0.
func deviation(v []float64) float64 {
	_, err := meanOf(v)
	return err * math.Sqrt(float64(len(v)))
}

// apart is the difference of moments, in seconds, from which two are as different as can be.
const apart = 120.0

// Distance is how different the surprises of two sittings are, from 0, the same at the same moments, to 1: half of it is which come (the share of
// those that only one of them has), a quarter in which order (what is left of the longest common order), a quarter when (the mean difference of
// the moments of the first, the second and so on, two minutes or more counting as all). Our own measure.
func Distance(a, b []InjectionOutcome) float64 {
	most := max(len(a), len(b))
	if most == 0 {
		return 0
	}
	count := map[string]int{}
	for i := range a {
		count[a[i].Abnormal]++
	}
	both := 0
	for i := range b {
		if count[b[i].Abnormal] > 0 {
			count[b[i].Abnormal]--
			both++
		}
	}
	which := 1 - float64(both)/float64(len(a)+len(b)-both)
	order := 1 - float64(commonOrder(a, b))/float64(most)
	when := float64(most - min(len(a), len(b)))
	for i := range min(len(a), len(b)) {
		when += min(1, math.Abs(a[i].AtS-b[i].AtS)/apart)
	}
	return float64(which/2) + float64(order/4) + float64(when/float64(most)/4)
}

// commonOrder is the length of the longest sequence of names that both have in this order.
func commonOrder(a, b []InjectionOutcome) int {
	row := make([]int, len(b)+1)
	for i := range a {
		before := 0
		for k := range b {
			was := row[k+1]
			if a[i].Abnormal == b[k].Abnormal {
				row[k+1] = before + 1
			} else {
				row[k+1] = max(row[k+1], row[k])
			}
			before = was
		}
	}
	return row[len(b)]
}
