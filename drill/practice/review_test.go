package practice

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"hornlark/drill/score"
)

// tried is an item: right after so many ms, or, with none, wrong.
func tried(name string, ms float64) score.Trial {
	t := score.Trial{Kind: score.TrialItem, Name: name, ParMS: 2000}
	if ms > 0 {
		t.Right, t.ReactionMS = true, &ms
	}
	return t
}

// flow is a complete sitting of a procedure, on so many days after the first.
func flow(day int, trials ...score.Trial) Past {
	return Past{Sitting{Began: day0.AddDate(0, 0, day), Procedure: "start", Profile: "lark", Policy: "prompted", Trials: trials}, true, true}
}

func of(policy string, p Past) Past {
	p.Policy = policy
	return p
}

func stopped(p Past) Past {
	p.Complete, p.Passed = false, false
	return p
}

// Series stand in the order in which they were sat last, whatever the dates say.
func TestSeriesByTheLatest(t *testing.T) {
	r := MakeReview([]Past{flow(9, tried("a", 900)), of("recall", flow(8, tried("a", 900))), of("watch", flow(7)), flow(1, tried("a", 900))})
	var got []string
	for _, s := range r.Series {
		got = append(got, s.Policy)
	}
	if want := []string{"prompted", "watch", "recall"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// names of standings, in their order.
func named(list []Standing) (names []string) {
	for _, s := range list {
		names = append(names, fmt.Sprintf("%s %d/%d", s.Name, s.Wrong, s.Latest))
	}
	return names
}

// Worst comes first: by the share that was wrong of late, then how often, then how slow, then by name.
func TestStandings(t *testing.T) {
	var past []Past
	for day := range 10 {
		list := []score.Trial{
			tried("slow", 3000), tried("quick", 800), tried("b-tie", 1000), tried("a-tie", 1000),
			tried("early", float64(min(day, 2))*900), // wrong on the first day, which is too long ago to count
			tried("half", float64(day%2)*900),
		}
		if day > 7 {
			list = append(list, tried("both", 0))
		}
		past = append(past, flow(day, list...))
	}
	past = append(past, stopped(flow(10, tried("slow", 3000), tried("cut", 0))))
	r := MakeReview(past)
	want := []string{"both 2/2", "cut 1/1", "half 4/8", "slow 0/8", "early 0/8", "a-tie 0/8", "b-tie 0/8", "quick 0/8"}
	if got := named(r.Series[0].Standings); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if s := r.Series[0].Standings[3]; s.Met != 11 || s.MS != 3000 || s.Pace != 1.5 || !s.Flawless() {
		t.Errorf("slow is %+v", s)
	}
	if s := r.Series[0].Standings[2]; s.Timed != 4 || s.MS != 900 || s.Pace != 0.45 || s.Flawless() {
		t.Errorf("half is %+v", s)
	}
	if s := r.Series[0]; s.Sittings != 11 || s.Complete != 10 || s.Passed != 10 || !s.Latest.Equal(day0.AddDate(0, 0, 10)) {
		t.Errorf("the series is %+v", s)
	}
}

// To be flawless takes as many times as are wanted, and none of them wrong; a par that is not known gives no pace.
func TestFlawless(t *testing.T) {
	for _, test := range []struct {
		latest, wrong int
		want          bool
	}{{LeastFlawless - 1, 0, false}, {LeastFlawless, 0, true}, {LeastFlawless, 1, false}, {RecentMost, 0, true}} {
		s := Standing{Latest: test.latest, Wrong: test.wrong}
		if s.Flawless() != test.want {
			t.Errorf("%d of %d wrong: %v", test.wrong, test.latest, !test.want)
		}
	}
	unknown := tried("a", 900)
	unknown.ParMS = 0
	if s := MakeReview([]Past{flow(0, unknown)}).Series[0].Standings[0]; s.Timed != 1 || s.MS != 900 || s.Pace != 0 {
		t.Errorf("without a par: %+v", s)
	}
}

// An item at a wrong place is wrong although it was done rightly; a step says so.
func TestAnItemAtAWrongPlaceIsWrong(t *testing.T) {
	step := func(from, to string, right bool) score.Trial {
		return score.Trial{Kind: score.TrialStep, Name: score.StepName(from, to), Right: right}
	}
	r := MakeReview([]Past{flow(0, tried("a", 900), tried("b", 900), step("a", "b", false), tried("c", 900), step("b", "c", true))})
	if got := named(r.Series[0].Standings); !slices.Equal(got, []string{"b 1/1", "a 0/1", "c 0/1"}) {
		t.Error(got)
	}
}

// An abnormal is right if it was noticed untold and acted on rightly and in time, whatever was flown when it was met.
func TestAbnormalsOfAReview(t *testing.T) {
	notice := func(name string, ms float64) score.Trial {
		n := tried(name, ms)
		n.Kind = score.TrialNotice
		return n
	}
	acts := func(name string, right, slow, told bool) score.Trial {
		return score.Trial{Kind: score.TrialActions, Name: name, Right: right, Slow: slow, Told: told}
	}
	past := []Past{
		flow(0, tried("a", 900), notice("fire", 1500), acts("fire", true, false, false), notice("told", 0), acts("told", true, false, true)),
		of("alerts", flow(1, notice("fire", 1000), acts("fire", true, false, false), notice("fire", 1200), acts("fire", true, true, false))),
		of("alerts", flow(2, notice("missed", 0), notice("only", 700), notice("wrong", 700), acts("wrong", false, false, false))),
	}
	r := MakeReview(past)
	want := []string{"wrong 1/1", "missed 1/1", "told 1/1", "fire 1/3", "only 0/1"}
	if got := named(r.Abnormals); !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	for _, s := range r.Abnormals {
		if s.Unnoticed != one(s.Name == "missed" || s.Name == "told") || s.Told != one(s.Name == "told") {
			t.Errorf("%+v", s)
		}
	}
	if len(r.Series) != 2 || r.Series[0].Policy != "alerts" || r.Series[0].Flow || !r.Series[1].Flow || len(r.Series[0].Standings) != 0 {
		t.Errorf("series: %+v", r.Series)
	}
	// Where nobody goes through items, abnormals are what is compared: those that both had.
	if c := r.Series[0].Last; c == nil || c.Things != 0 || r.Series[0].First != nil {
		t.Errorf("%+v", c)
	}
}

// The latest complete sitting against the one before and the first of its kin, over what both asked.
func TestChanges(t *testing.T) {
	a := flow(0, tried("x", 2000), tried("y", 0), tried("z", 3000))
	b := flow(1, tried("x", 1000), tried("y", 1500), tried("z", 2000))
	c := flow(2, tried("x", 800), tried("y", 1200))
	for name, test := range map[string]struct {
		past        []Past
		last, first string
	}{
		"none":                         {nil, "", ""},
		"one":                          {[]Past{a}, "-", "-"},
		"two":                          {[]Past{a, b}, "3: 2 then 3, 2500 then 1500 of 2", "-"},
		"three":                        {[]Past{a, b, c}, "2: 2 then 2, 1250 then 1000 of 2", "2: 1 then 2, 2000 then 800 of 1"},
		"three, the same again":        {[]Past{b, b, b}, "3: 3 then 3, 1500 then 1500 of 3", "3: 3 then 3, 1500 then 1500 of 3"},
		"all incomplete":               {[]Past{stopped(a), stopped(b)}, "-", "-"},
		"the one between was stopped":  {[]Past{a, stopped(b), c}, "2: 1 then 2, 2000 then 800 of 1", "-"},
		"another policy":               {[]Past{a, of("recall", b)}, "-", "-"},
		"nothing that both were asked": {[]Past{flow(0, tried("x", 900)), flow(1, tried("y", 900))}, "0: 0 then 0, 0 then 0 of 0", "-"},
	} {
		say := func(c *Change) string {
			if c == nil {
				return "-"
			}
			return fmt.Sprintf("%d: %d then %d, %.0f then %.0f of %d", c.Things, c.RightThen, c.RightNow, c.MSThen, c.MSNow, c.Timed)
		}
		r := MakeReview(test.past)
		if len(r.Series) == 0 {
			if test.last != "" {
				t.Errorf("%s: no series", name)
			}
			continue
		}
		if last, first := say(r.Series[0].Last), say(r.Series[0].First); last != test.last || first != test.first {
			t.Errorf("%s: last %q, first %q; want %q and %q", name, last, first, test.last, test.first)
		}
	}
}

// halves are sittings of ten items each: how many of them were wrong, and how long the others took (spread by a tenth, so that chance has a say).
func halves(wrong []int, ms []float64) (past []Past) {
	draw := rand.New(rand.NewPCG(1, 1))
	for day := range wrong {
		var list []score.Trial
		for i := range 10 {
			took := ms[day] * (0.95 + 0.1*draw.Float64())
			if i < wrong[day] {
				took = 0
			}
			list = append(list, tried(fmt.Sprint("item ", i), took))
		}
		past = append(past, flow(day, list...))
	}
	return past
}

// How speed and correctness went together, from the figures.
func TestPace(t *testing.T) {
	for name, test := range map[string]struct {
		past         []Past
		times, slips Move
	}{
		"faster, and more wrong":         {halves([]int{0, 0, 0, 4, 5, 4}, []float64{2000, 2000, 2000, 1000, 1000, 1000}), Less, Greater},
		"faster, and less wrong":         {halves([]int{4, 5, 4, 0, 0, 0}, []float64{2000, 2000, 2000, 1000, 1000, 1000}), Less, Less},
		"faster, nothing wrong":          {halves([]int{0, 0, 0, 0}, []float64{2000, 2000, 1000, 1000}), Less, Level},
		"faster, one more wrong":         {halves([]int{0, 0, 1, 0}, []float64{2000, 2000, 1000, 1000}), Less, Level},
		"slower, and less wrong":         {halves([]int{5, 5, 0, 0}, []float64{1000, 1000, 2000, 2000}), Greater, Less},
		"slower, and more wrong":         {halves([]int{0, 0, 5, 5}, []float64{1000, 1000, 2000, 2000}), Greater, Greater},
		"as fast":                        {halves([]int{0, 0, 0, 0}, []float64{1000, 1000, 1000, 1000}), Level, Level},
		"nothing to time, and all wrong": {halves([]int{10, 10, 10, 10}, []float64{1, 1, 1, 1}), Untold, Level},
		"three things to time":           {halves([]int{7, 7, 7, 7}, []float64{2000, 2000, 1000, 1000}), Less, Level},
		"two things to time":             {halves([]int{8, 8, 8, 8}, []float64{2000, 2000, 1000, 1000}), Untold, Level},
	} {
		p := MakeReview(test.past).Series[0].Pace
		if p == nil || p.Times() != test.times || p.Slips() != test.slips {
			t.Errorf("%s: %+v", name, p)
		}
	}
	three := halves([]int{0, 0, 0}, []float64{900, 900, 900})
	if p := MakeReview(three).Series[0].Pace; p != nil {
		t.Errorf("three sittings: %+v", p)
	}
	if p := MakeReview(append(three, stopped(three[0]))).Series[0].Pace; p != nil {
		t.Errorf("three complete sittings: %+v", p)
	}
}

// An interval that ends at no change has it in it, and it takes LeastTimed things to say anything of times.
func TestMovesAtTheirBounds(t *testing.T) {
	for _, c := range []struct {
		timed     int
		low, high float64
		want      Move
	}{
		{LeastTimed - 1, 0.5, 0.6, Untold}, {LeastTimed, 0.5, 0.6, Less}, {LeastTimed, 0.5, 1, Level}, {LeastTimed, 1, 1.5, Level}, {LeastTimed, 1.1, 1.5, Greater},
	} {
		p := Pace{Timed: c.timed, RatioLow: c.low, RatioHigh: c.high, MoreLow: c.low - 1, MoreHigh: c.high - 1}
		if p.Times() != c.want {
			t.Errorf("%+v: times %d", c, p.Times())
		}
		if c.timed >= LeastTimed && p.Slips() != c.want {
			t.Errorf("%+v: slips %d", c, p.Slips())
		}
	}
}

// Only what was right, and has a reaction, is timed.
func TestPaceOfWhatIsTimed(t *testing.T) {
	var past []Past
	for day := range 4 {
		untimed := score.Trial{Kind: score.TrialItem, Name: "untimed", Right: true}
		past = append(past, flow(day, tried("a", 900), tried("b", 900), tried("astray", 900), untimed,
			score.Trial{Kind: score.TrialStep, Name: score.StepName("b", "astray")}))
	}
	if p := MakeReview(past).Series[0].Pace; p.Things != 4 || p.Timed != 2 || p.WrongThen != 2 || p.OfThen != 8 || p.WrongNow != 2 || p.OfNow != 8 || p.Half != 2 {
		t.Errorf("%+v", p)
	}
}

// Newcombe 1998, Statistics in Medicine 17:873-890, table II, method 10 (from memory, to the four places given there).
func TestDifferenceOfShares(t *testing.T) {
	for _, c := range []struct {
		a, m, b, n int
		low, high  float64
	}{{56, 70, 48, 80, 0.0524, 0.3339}, {9, 10, 3, 10, 0.1705, 0.8090}, {10, 10, 0, 10, 0.6075, 1}, {0, 10, 0, 10, -0.2775, 0.2775}} {
		d, low, high := difference(c.a, c.m, c.b, c.n)
		if math.Abs(low-c.low) > 0.0001 || math.Abs(high-c.high) > 0.0001 || d < low || d > high {
			t.Errorf("%d/%d less %d/%d: %.4f, %.4f to %.4f; want %.4f to %.4f", c.a, c.m, c.b, c.n, d, low, high, c.low, c.high)
		}
	}
}

// Clean times by one power law give it back, whichever items each sitting asked: each has a time of its own.
func TestCurveOfClean(t *testing.T) {
	for name, asks := range map[string]func(day, item int) bool{
		"all of them":          func(int, int) bool { return true },
		"some of them":         func(day, item int) bool { return (day+item)%3 != 0 },
		"one phase after half": func(day, item int) bool { return day < 6 || item < 4 },
		"others from half on":  func(day, item int) bool { return (day < 6) == (item < 5) },
	} {
		met := map[int]int{}
		var past []Past
		for day := range 12 {
			var list []score.Trial
			for item := range 10 {
				if asks(day, item) {
					met[item]++
					list = append(list, tried(fmt.Sprint("item ", item), 1000*float64(2+item)*math.Pow(float64(met[item]), -0.4)))
				}
			}
			past = append(past, flow(day, list...))
		}
		c := MakeReview(past).Series[0].Curve
		if c.Learning != Learns || math.Abs(c.B-0.4) > 1e-9 || len(c.Points) != 12 {
			t.Errorf("%s: %s, b %.12f of %d", name, c.Learning, c.B, len(c.Points))
		}
	}
}

// Where every sitting asks the same, a point is the geometric mean of its reactions, and the curve that of these means. One item that was met once says nothing.
func TestCurveOfTheSameItems(t *testing.T) {
	past := halves([]int{0, 0, 0, 0, 0, 0, 0}, []float64{3000, 2100, 2300, 1700, 1900, 1500, 1600})
	past[3].Trials = append(past[3].Trials, tried("once", 99))
	for i := range past { // right, and with nothing to time
		past[i].Trials = append(past[i].Trials, score.Trial{Kind: score.TrialItem, Name: "untimed", Right: true})
	}
	var nth, means []float64
	for day := range past {
		sum := 0.0
		for _, trial := range past[day].Trials[:10] {
			sum += math.Log(*trial.ReactionMS)
		}
		nth, means = append(nth, float64(day+1)), append(means, math.Exp(sum/10))
	}
	want, is := FitPower(nth, means)
	c := MakeReview(past).Series[0].Curve
	if c.Learning != is || math.Abs(c.B-want.B) > 1e-9 || math.Abs(c.A-want.A) > 1e-6 || math.Abs(c.Low-want.Low) > 1e-9 {
		t.Errorf("%+v, want %+v", c.Power, want)
	}
	for i, p := range c.Points {
		if math.Abs(p.N-nth[i]) > 1e-9 || math.Abs(p.MS-means[i]) > 1e-6 || !p.Began.Equal(past[i].Began) {
			t.Errorf("point %d is %+v, want %g and %g", i, p, nth[i], means[i])
		}
	}
}

// What a curve goes by: complete sittings, and what was right in them.
func TestCurveOfLittle(t *testing.T) {
	falls := halves([]int{0, 0, 0, 0, 0}, []float64{3000, 2300, 2000, 1800, 1650})
	cut := slices.Clone(falls)
	cut[2] = stopped(cut[2])
	for name, test := range map[string]struct {
		past   []Past
		want   Learning
		points int
	}{
		"five that fall":       {falls, Learns, 5},
		"two":                  {falls[:2], TooFewTimes, 2},
		"one of them stopped":  {cut, TooFewTimes, 4},
		"nothing was right":    {halves([]int{10, 10, 10, 10, 10}, []float64{1, 1, 1, 1, 1}), TooFewTimes, 0},
		"each item only once":  {[]Past{flow(0, tried("a", 900)), flow(1, tried("b", 900))}, TooFewTimes, 0},
		"it rises":             {halves([]int{0, 0, 0, 0, 0}, []float64{1650, 2000, 2300, 2700, 3000}), Unlearns, 5},
		"it goes up and down":  {halves([]int{0, 0, 0, 0, 0, 0}, []float64{2000, 1700, 2100, 1650, 2050, 1800}), Flat, 6},
		"of two kins, in turn": {[]Past{falls[0], of("recall", falls[1]), falls[2], of("recall", falls[3]), falls[4]}, TooFewTimes, 3},
	} {
		if c := MakeReview(test.past).Series[0].Curve; c.Learning != test.want || len(c.Points) != test.points {
			t.Errorf("%s: %s of %d, want %s of %d", name, c.Learning, len(c.Points), test.want, test.points)
		}
	}
}

// Side by side stand the latest complete sittings of those who sat the same, over what all of them were asked.
func TestSideBySide(t *testing.T) {
	kim := []Past{flow(0, tried("x", 2000), tried("y", 0)), flow(3, tried("x", 1000), tried("y", 1500), tried("z", 900)), of("recall", flow(4, tried("x", 1)))}
	lee := []Past{flow(1, tried("x", 800), tried("y", 0)), stopped(flow(2, tried("x", 700)))}
	max := []Past{stopped(flow(1, tried("x", 800)))}
	var reviews []*Review
	for _, past := range [][]Past{kim, lee, max, nil} {
		reviews = append(reviews, MakeReview(past))
	}
	boards := SideBySide(reviews)
	if len(boards) != 1 || boards[0].Policy != "prompted" || boards[0].Shared != 2 || !boards[0].Flow {
		t.Fatalf("%+v", boards)
	}
	var got []string
	for _, r := range boards[0].Rows {
		got = append(got, fmt.Sprintf("%d: %d sat, %d complete, %d passed; right %d, %.0f of %d, none %v", r.Who, r.Sittings, r.Complete, r.Passed, r.Right, r.MS, r.Timed, r.Latest.IsZero()))
	}
	want := []string{"0: 2 sat, 2 complete, 2 passed; right 2, 1250 of 2, none false", "1: 2 sat, 1 complete, 1 passed; right 1, 800 of 1, none false", "2: 1 sat, 0 complete, 0 passed; right 0, 0 of 0, none true"}
	if !slices.Equal(got, want) {
		t.Errorf("%q\nwant %q", got, want)
	}
	if boards := SideBySide(reviews[:2]); len(boards) != 1 || len(boards[0].Rows) != 2 {
		t.Errorf("two: %+v", boards)
	}
	if boards := SideBySide(reviews[:1]); boards != nil {
		t.Errorf("one by himself: %+v", boards)
	}
}

// Abnormals are compared over those that all have met who have met any; two are enough.
func TestAbnormalsSideBySide(t *testing.T) {
	met := func(abnormals ...string) *Review {
		p := flow(0)
		for _, name := range abnormals {
			n := tried(name, float64(900*one(name != "unnoticed")))
			n.Kind = score.TrialNotice
			p.Trials = append(p.Trials, n)
		}
		return MakeReview([]Past{p})
	}
	nobody, kim, lee := met(), met("unnoticed", "fire", "fire", "own"), met("fire", "unnoticed")
	b := AbnormalsSideBySide([]*Review{nobody, kim, lee})
	if b == nil || len(b.Shared) != 2 || b.Shared[0].Name != "fire" || b.Shared[1].Name != "unnoticed" ||
		!slices.Equal(b.Rows, []AbnormalRow{{Who: 1, Met: 3, Times: 3, Right: 2, Unnoticed: 1}, {Who: 2, Met: 2, Times: 2, Right: 1, Unnoticed: 1}}) {
		t.Errorf("%+v", b)
	}
	if b := AbnormalsSideBySide([]*Review{nobody, kim}); b != nil {
		t.Errorf("one who has met any: %+v", b)
	}
	if b := AbnormalsSideBySide([]*Review{met("own"), met("fire")}); len(b.Shared) != 0 || b.Rows[0] != (AbnormalRow{Met: 1}) {
		t.Errorf("nothing in common: %+v", b)
	}
}

// The same sittings always come to the same.
func TestReviewIsTheSameAgain(t *testing.T) {
	past := halves([]int{3, 2, 1, 0, 2, 1, 1}, []float64{3000, 2300, 2000, 1800, 1650, 1600, 1500})
	want := fmt.Sprintf("%+v", *MakeReview(past).Series[0].Pace) + fmt.Sprint(MakeReview(past).Series[0].Curve, MakeReview(past).Series[0].Standings)
	for range 20 {
		if got := fmt.Sprintf("%+v", *MakeReview(past).Series[0].Pace) + fmt.Sprint(MakeReview(past).Series[0].Curve, MakeReview(past).Series[0].Standings); got != want {
			t.Fatalf("%s\nthen %s", want, got)
		}
	}
}
