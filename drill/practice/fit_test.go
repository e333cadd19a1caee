package practice

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/score"
)

var fitSeeds = flag.Int("fit.seeds", 1, "simulated trainees of each kind that weights are fitted to; where that is quick, five times as many")

// simulated is a trainee whose forgetting is known.
type simulated interface {
	recall(t Thing, day float64) float64
	meets(r *rand.Rand, t Thing, day float64) bool
}

// byModel forgets by the model itself, with those weights.
type byModel struct {
	w         Weights
	remembers map[Thing]outlook
}

func (l *byModel) recall(t Thing, day float64) float64 {
	o := l.remembers[t]
	return l.w.Recall(o.Memory, day-o.last)
}

func (l *byModel) meets(r *rand.Rand, t Thing, day float64) bool {
	o := l.remembers[t]
	p := FirstRight
	if o.Met() {
		p = l.recall(t, day)
	}
	g := Again
	if r.Float64() < p {
		g = Good
	}
	l.remembers[t] = outlook{l.w.After(o.Memory, day-o.last, g, 1), day}
	return g == Good
}

// kindOf makes trainees of one kind, none of whom has met anything.
type kindOf struct {
	name    string
	general bool // as learners in general are taken to
	make    func() simulated
}

func kinds() []kindOf {
	quick := place{-6, 2, -2, -2}.weights(&DefaultWeights)
	list := []kindOf{
		{"as the model has it", true, func() simulated { return &byModel{DefaultWeights, map[Thing]outlook{}} }},
		{"as the model has it, sooner", false, func() simulated { return &byModel{quick, map[Thing]outlook{}} }},
	}
	for _, l := range learners() {
		list = append(list, kindOf{l.name, false, func() simulated {
			mine := l
			mine.remembers = map[Thing]*trace{}
			return &mine
		}})
	}
	return list
}

// sat is the sittings of a simulated trainee who goes through everything in turn, with Sundays off and a week away in the middle.
func sat(l simulated, course *Course, seed uint64) (list []Sitting) {
	r, next := rand.New(rand.NewPCG(seed, 7)), 0
	for day := range course.Days {
		if day%7 == 6 || day/7 == course.Days/14 {
			continue
		}
		s := Sitting{Began: course.From.AddDate(0, 0, day), Procedure: "start", Profile: "twin"}
		budget := course.Budget(day)
		for {
			u := &course.Units[next]
			if budget -= u.Length.Seconds(); budget < 0 {
				break
			}
			for _, t := range u.Things {
				s.Trials = append(s.Trials, score.Trial{Kind: t.Kind, Name: t.Name, Right: l.meets(r, t, float64(day))})
			}
			next = (next + 1) % len(course.Units)
		}
		list = append(list, s)
	}
	return list
}

// since is the looks that are in one calibration and were not yet in an earlier state of it.
func (c Calibration) since(earlier Calibration) Calibration {
	c.Looks, c.Squares = c.Looks-earlier.Looks, c.Squares-earlier.Squares
	for i := range c.Bins {
		b, e := &c.Bins[i], &earlier.Bins[i]
		b.Looks, b.Right, b.Sum = b.Looks-e.Looks, b.Right-e.Right, b.Sum-e.Sum
	}
	return c
}

// foretold is what was said before the looks that came after weights could first be fitted and tried: with fits and by the weights for learners in general alone.
func foretold(sittings []Sitting) (with, without Calibration, k, general *Known) {
	k, general = NewKnown(DefaultWeights), NewKnown(DefaultWeights)
	var first, firstGeneral Calibration
	for i := range sittings {
		k.Learn(&sittings[i])
		general.Learn(&sittings[i])
		if k.FitDue() {
			before := k.Fit.Held
			if k.Refit(sittings[:i+1]); before == 0 && k.Fit.Held > 0 {
				first, firstGeneral = k.Said, general.Said
			}
		}
	}
	return k.Said.since(first), general.Said.since(firstGeneral), k, general
}

// onTheDay is what is said of everything met some days after the last sitting, what is true, and how far they are apart a thing (root of
// the mean square).
func onTheDay(k *Known, l simulated, day float64) (said, is, apart float64) {
	things := k.Things()
	for _, t := range things {
		p, q := k.Recall(t, day0.Add(time.Duration(day*24)*time.Hour)), l.recall(t, day)
		said, is, apart = said+p/float64(len(things)), is+q/float64(len(things)), apart+(p-q)*(p-q)/float64(len(things))
	}
	return said, is, math.Sqrt(apart)
}

// TestFitForetellsBetter: of simulated trainees who forget in other ways than learners in general are taken to, what is said with fits comes true more
// nearly than what is said without; of those who forget as the model has it, it is not said worse. Everything that is counted was said before it
// was known what came true. -fit.seeds N -v shows the figures of more trainees.
func TestFitForetellsBetter(t *testing.T) {
	for _, size := range []struct {
		days        int
		minutes     float64
		trainees    int
		off, spread float64 // how far what was said may be from what came true, and how unreliable it may be
	}{{28, 6, 5 * *fitSeeds, 0.15, 0.04}, {42, 12, *fitSeeds, 0.05, 0.02}} {
		course := aCourse(size.days, size.minutes)
		for _, kind := range kinds() {
			var with, without Calibration
			var later [2][5]float64 // after two weeks, and after three months
			used := 0
			for seed := range uint64(size.trainees) {
				l := kind.make()
				a, b, k, general := foretold(sat(l, course, seed))
				with, without = with.plus(a), without.plus(b)
				if k.Fit.Used {
					used++
				}
				for n, idle := range []int{14, 91} {
					said, is, apart := onTheDay(k, l, float64(size.days+idle))
					saidGeneral, _, apartGeneral := onTheDay(general, l, float64(size.days+idle))
					for i, v := range []float64{is, said, apart, saidGeneral, apartGeneral} {
						later[n][i] += v / float64(size.trainees)
					}
				}
			}
			what := fmt.Sprintf("%d days of %g min, %s", size.days, size.minutes, kind.name)
			all, allGeneral := with.All(), without.All()
			unreliable, _, _ := with.Murphy()
			unreliableGeneral, _, _ := without.Murphy()
			byChance := CalibrationBins * 0.25 / float64(with.Looks) // what luck alone makes of it, at the most
			t.Logf(`%s: %d looks, fitted weights used by %d of %d
    came true %.3f of what was said with %.3f, without fits with %.3f; Brier score %.4f, without %.4f; reliability %.4f, without %.4f
    two weeks later %.3f is known; said %.3f, a thing %.3f off; without %.3f, %.3f off
    three months later %.3f is known; said %.3f, a thing %.3f off; without %.3f, %.3f off
%s`, what, with.Looks, used, size.trainees, all.Came(), all.Said(), allGeneral.Said(), with.Brier(), without.Brier(), unreliable, unreliableGeneral,
				later[0][0], later[0][1], later[0][2], later[0][3], later[0][4], later[1][0], later[1][1], later[1][2], later[1][3], later[1][4], table(&with, &without))
			switch {
			case kind.general && (with.Brier() > without.Brier()+0.005 || size.days > 28 && used > 0):
				t.Errorf("%s: who forgets like learners in general has fitted weights used %d times, with a Brier score of %.4f, without %.4f", what, used, with.Brier(), without.Brier())
			case !kind.general && (unreliable > unreliableGeneral+byChance || with.Brier() > without.Brier()+0.002 || later[0][2] > later[0][4] || later[1][2] > later[1][4]):
				t.Errorf("%s: fits foretell worse", what)
			case math.Abs(all.Said()-all.Came()) > size.off || unreliable > size.spread:
				t.Errorf("%s: what is said with fits does not come true", what)
			}
		}
	}
}

func (c Calibration) plus(other Calibration) Calibration {
	other.Looks, other.Squares = -other.Looks, -other.Squares
	for i := range other.Bins {
		b := &other.Bins[i]
		b.Looks, b.Right, b.Sum = -b.Looks, -b.Right, -b.Sum
	}
	return c.since(other)
}

// table is the reliability of what was said.
func table(with, without *Calibration) string {
	var b strings.Builder
	line := func(bin *Bin) string {
		low, high := Wilson(bin.Right, bin.Looks)
		return fmt.Sprintf("%5d looks, said %.3f, came true %.3f (%.3f to %.3f)", bin.Looks, bin.Said(), bin.Came(), low, high)
	}
	for i := range with.Bins {
		fmt.Fprintf(&b, "    %.1f–%.1f  with: %s   without: %s\n", float64(i)/10, float64(i+1)/10, line(&with.Bins[i]), line(&without.Bins[i]))
	}
	return b.String()
}

// TestExpectedOfAPlan: what a plan says will be known on the day comes true more nearly with fitted weights than without, of trainees who have gone
// through everything in turn for nine days and by the plan for the five to the day.
func TestExpectedOfAPlan(t *testing.T) {
	off, offGeneral := 0.0, 0.0
	all := kinds()
	for _, kind := range all {
		l, course := kind.make(), aCourse(14, 20)
		r := rand.New(rand.NewPCG(2, 3))
		general := NewKnown(DefaultWeights)
		inTurn := choosers()["everything in turn"]
		practise := func(day int, units []int) Sitting {
			s := Sitting{Began: course.From.AddDate(0, 0, day), Procedure: "start", Profile: "twin"}
			for _, i := range units {
				for _, thing := range course.Units[i].Things {
					s.Trials = append(s.Trials, score.Trial{Kind: thing.Kind, Name: thing.Name, Right: l.meets(r, thing, float64(day))})
				}
			}
			return s
		}
		var sittings []Sitting
		for day := range 9 {
			s := practise(day, inTurn(nil, course, day, r))
			sittings = append(sittings, s)
			general.Learn(&s)
		}
		k := LearnAll(DefaultWeights, sittings)
		rest := *course
		rest.From, rest.Days = course.From.AddDate(0, 0, 9), 5
		plan, planGeneral := MakePlan(k, &rest), MakePlan(general, &rest)
		for _, s := range plan.Sessions {
			practise(9+s.Day, s.Units)
		}
		is, weights := 0.0, 0.0
		for _, u := range course.Units {
			for _, thing := range u.Things {
				is, weights = is+thing.Weight()*l.recall(thing, 14), weights+thing.Weight()
			}
		}
		is /= weights
		t.Logf("%-30s expected %.3f, by weights for learners in general %.3f; it is %.3f", kind.name, plan.With, planGeneral.With, is)
		if math.Abs(plan.With-is) > math.Abs(planGeneral.With-is)+0.05 {
			t.Errorf("%s: with fitted weights a plan expects %.3f on the day, without %.3f, and it is %.3f", kind.name, plan.With, planGeneral.With, is)
		}
		off, offGeneral = off+math.Abs(plan.With-is)/float64(len(all)), offGeneral+math.Abs(planGeneral.With-is)/float64(len(all))
	}
	if off > offGeneral/2 {
		t.Errorf("what is expected is %.3f off with fitted weights, and %.3f without", off, offGeneral)
	}
}

// What is known with fits hangs on the sittings alone: it is the same in one go, and asked, kept and read back after each of them.
func TestFitsHangOnSittingsAlone(t *testing.T) {
	l := kinds()[2].make()
	sittings := sat(l, aCourse(28, 8), 3)
	for i := range sittings { // as a snapshot gives times back
		sittings[i].Began = time.Unix(0, sittings[i].Began.UnixNano())
	}
	want := LearnAll(DefaultWeights, sittings)
	if !want.Fit.Used || want.Weights == DefaultWeights || want.Prior != DefaultWeights {
		t.Fatalf("nothing is fitted: %+v", want.Fit)
	}
	k, fits := NewKnown(DefaultWeights), 0
	for i := range sittings {
		k.Learn(&sittings[i])
		if k.FitDue() {
			k.Refit(sittings[:i+1])
			fits++
		}
		if k.FitDue() {
			t.Fatal("a fit is due right after one")
		}
		back, err := UnpackSnapshot((&Snapshot{Known: k}).Pack())
		if err != nil {
			t.Fatal(err)
		}
		k = back.Known
	}
	if fits < 2 || !reflect.DeepEqual(k, want) {
		t.Errorf("after %d fits %+v is known; in one go %+v", fits, k, want)
	}
	anew := NewKnown(k.Weights)
	for i := range sittings {
		anew.Learn(&sittings[i])
	}
	if !reflect.DeepEqual(anew.States, k.States) {
		t.Error("what is known is not what the fitted weights make of all sittings")
	}
}

// When weights are fitted.
func TestNextFit(t *testing.T) {
	for looks, want := range map[int]int{0: 100, 99: 100, 100: 150, 149: 150, 150: 225, 225: 337, 8614: 12921, 12920: 12921, 12921: 0, 1_000_000: 0} {
		if got := nextFit(looks); got != want {
			t.Errorf("after %d looks the next fit is with %d, want %d", looks, got, want)
		}
	}
	k := NewKnown(DefaultWeights)
	for looks, want := range map[int]bool{99: false, 100: true} {
		if k.Said.Looks = looks; k.FitDue() != want {
			t.Errorf("with %d looks a fit is due: %t", looks, !want)
		}
	}
}

// What a look is, at its bounds, and that nothing else is counted among what was said.
func TestLooks(t *testing.T) {
	trial := score.Trial{Kind: score.TrialItem, Name: "battery", Right: true}
	told := trial
	told.Told = true
	for name, test := range map[string]struct {
		hours float64
		trial score.Trial
		looks int
	}{
		"the next day":               {24, trial, 1},
		"half a day later":           {12, trial, 1},
		"in the same session":        {11.9, trial, 0},
		"told":                       {24, told, 0},
		"something else, first time": {24, score.Trial{Kind: score.TrialItem, Name: "pump"}, 0},
	} {
		k := LearnAll(DefaultWeights, []Sitting{
			{Began: day0, Procedure: "p", Trials: []score.Trial{trial}},
			{Began: day0.Add(time.Duration(test.hours * float64(time.Hour))), Procedure: "p", Trials: []score.Trial{test.trial}},
		})
		if k.Said.Looks != test.looks {
			t.Errorf("%s: %d looks, want %d", name, k.Said.Looks, test.looks)
		}
		if all := k.Said.All(); test.looks == 1 && math.Abs(all.Said()-DefaultWeights.Recall(Memory{Stability: DefaultWeights[2]}, test.hours/24)) > 1e-12 {
			t.Errorf("%s: said %g", name, all.Said())
		}
	}
}

// looksOf is a history of one thing with so many looks in each sitting.
func looksOf(looks ...int) history {
	h := make(history, 1)
	for n, count := range looks {
		for range count {
			h[0] = append(h[0], seen{n: n, look: true, days: 1, grade: Good, right: true, weight: 1})
		}
	}
	return h
}

// Looks are held out by whole sittings, in parts of about a third, with looks before the first and in each.
func TestCuts(t *testing.T) {
	for _, test := range []struct{ looks, cuts []int }{
		{[]int{10, 10, 10, 10, 10, 10}, []int{2, 4, 6}},
		{[]int{30, 0, 0, 30, 30}, []int{3, 4, 5}},
		{[]int{0, 0, 60, 30}, []int{3, 4}},
		{[]int{5, 5, 90}, []int{2, 3}},
		{[]int{90, 5, 5}, []int{1, 2, 3}},
		{[]int{100}, []int{1}},
		{[]int{0, 100, 0}, []int{3}},
		{nil, []int{0}},
	} {
		if got := looksOf(test.looks...).cuts(len(test.looks)); !slices.Equal(got, test.cuts) {
			t.Errorf("looks %v are cut at %v, want %v", test.looks, got, test.cuts)
		}
	}
}

// Where everything came in one sitting, nothing can be held out, and nothing is fitted.
func TestNothingHeldOut(t *testing.T) {
	var once, again Sitting
	for i := range FirstFit {
		trial := score.Trial{Kind: score.TrialItem, Name: fmt.Sprint(i)}
		once.Trials, again.Trials = append(once.Trials, trial), append(again.Trials, trial)
	}
	once.Began, again.Began = day0, day0.AddDate(0, 0, 1)
	k := LearnAll(DefaultWeights, []Sitting{once, again})
	if k.Fit != (Fit{Looks: FirstFit}) || k.Weights != DefaultWeights {
		t.Errorf("fitted: %+v", k.Fit)
	}
}

// The steps of the scale are those of e^1/4, a place gives the weights back that it is said to change, and nobody is taken to forget less steeply than
// learners in general.
func TestPlaces(t *testing.T) {
	for steps := -mostSteps; steps <= mostSteps; steps++ {
		near(t, fmt.Sprint("ratio of ", steps, " steps"), ratio(steps)/math.Exp(float64(steps)/4), 1, 1e-12)
	}
	if w := (place{}).weights(&DefaultWeights); w != DefaultWeights {
		t.Errorf("nowhere it comes to %v", w)
	}
	for p, allowed := range map[place]bool{
		{}: true, {mostSteps, mostSteps, mostSteps, mostSteps}: true, {-mostSteps, 0, -mostSteps, -mostSteps}: true,
		{0, -1, 0, 0}: false, {mostSteps + 1}: false, {0, 0, -mostSteps - 1}: false, {0, 0, 0, mostSteps + 1}: false,
	} {
		if p.allowed() != allowed {
			t.Errorf("somebody may be at %v: %t", p, !allowed)
		}
	}
	changed := map[int][]int{0: {0, 1, 2, 3}, 1: {20}, 2: {8}, 3: {11}}
	for i, want := range changed {
		var p place
		p[i] = 3
		var got []int
		for j, w := range p.weights(&DefaultWeights) {
			if w != DefaultWeights[j] {
				got = append(got, j)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("figure %d changes weights %v, want %v", i, got, want)
		}
	}
}

// The place that is found costs no more than the one by which the trainee forgets, being far from learners in general counted in; and no step from it
// makes it better.
func TestSearchFindsTheLeast(t *testing.T) {
	at := place{-6, 2, -2, -2}
	l := &byModel{at.weights(&DefaultWeights), map[Thing]outlook{}}
	sittings := sat(l, aCourse(42, 12), 5)
	h := historyOf(sittings)
	cost := func(p place) (sum float64) {
		w := p.weights(&DefaultWeights)
		h.each(&w, 0, len(sittings), func(loss float64) { sum += loss })
		for _, steps := range p {
			sum += float64(steps*steps) / (2 * usualStep * usualStep)
		}
		return sum
	}
	found := h.search(&DefaultWeights, len(sittings), place{})
	t.Logf("found %v with %.3f; the true one %v has %.3f, learners in general %.3f", found, cost(found), at, cost(at), cost(place{}))
	if cost(found) > cost(at)+0.5 {
		t.Errorf("%v costs %.3f, and %v %.3f", found, cost(found), at, cost(at))
	}
	for i := range found {
		for _, by := range []int{-1, 1} {
			near := found
			if near[i] += by; near.allowed() && cost(near) < cost(found)-2*clearly {
				t.Errorf("%v costs %.4f, and %v beside it %.4f", found, cost(found), near, cost(near))
			}
		}
	}
	if again := historyOf(sittings).search(&DefaultWeights, len(sittings), place{}); again != found {
		t.Errorf("the same comes to %v, and to %v", found, again)
	}
}

// Of a great many trials no more than about mostFitted bear upon the weights.
func TestFitIsBounded(t *testing.T) {
	sittings := make([]Sitting, 100)
	for i := range sittings {
		sittings[i] = Sitting{Began: day0.AddDate(0, 0, i), Procedure: "p"}
		for n := range 300 {
			sittings[i].Trials = append(sittings[i].Trials, score.Trial{Kind: score.TrialItem, Name: fmt.Sprint(n), Right: (n+i)%3 > 0})
		}
	}
	trials := 0
	for _, list := range historyOf(sittings) {
		trials += len(list)
	}
	if trials > mostFitted || trials < mostFitted/2 {
		t.Errorf("%d trials are gone through", trials)
	}
}

// What weights come to by Model, fitted to somebody who forgets what was left for more than two days: as TestModelIsWhatItWas, the figures are those of this
// program, and another machine has to come to the same.
func TestFitIsWhatItWas(t *testing.T) {
	var sittings []Sitting
	for i, day := range []int{0, 1, 2, 5, 6, 9, 10, 11, 15} {
		s := Sitting{Began: day0.AddDate(0, 0, day), Procedure: "p"}
		for n := range 40 {
			s.Trials = append(s.Trials, score.Trial{Kind: score.TrialItem, Name: fmt.Sprint(n), Right: i > 0 && (n+i)%10 > 0 && day%4 != 1})
		}
		sittings = append(sittings, s)
	}
	k := LearnAll(DefaultWeights, sittings)
	w := &k.Weights
	got := fmt.Sprintf("model %d: used %t with %d looks, %d held out; %.9g %.9g %.9g %.9g", Model, k.Fit.Used, k.Fit.Looks, k.Fit.Held, w[0], w[20], w[8], w[11])
	if want := "model 2: used true with 240 looks, 160 held out; 0.100141709 2.21671683 -0.6278 1.90485171"; got != want {
		t.Errorf("%s, want %s: raise Model", got, want)
	}
}

// BenchmarkRefit fits weights to the most looks that they are ever fitted to.
func BenchmarkRefit(b *testing.B) {
	var sittings []Sitting
	k := NewKnown(DefaultWeights)
	for _, s := range sat(kinds()[1].make(), aCourse(120, 20), 1) {
		sittings = append(sittings, s)
		if k.Learn(&s); k.Said.Looks >= LatestFit {
			break
		}
	}
	b.ReportMetric(float64(k.Said.Looks), "looks")
	for b.Loop() {
		k.Refit(sittings)
	}
	if !k.Fit.Used {
		b.Fatal("nothing is fitted")
	}
}
