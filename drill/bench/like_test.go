package bench_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"hornlark/drill/bench"
	"hornlark/drill/score"
)

// shownBy is what somebody shows with so many items, whose times are the typical ones times a pace, and of whom a share is wrong.
func shownBy(n int, pace, wrong float64, fromMemory bool) bench.Past {
	r := rand.New(rand.NewPCG(8, 9))
	p, _ := bench.PersonOf("typical")
	past := bench.Past{FromMemory: fromMemory}
	for i := range n {
		ms := 1000 * pace * (p.Challenge.Draw(r) + p.Key.Draw(r)).Seconds()
		past.Trials = append(past.Trials, score.Trial{Kind: score.TrialItem, Right: float64(i%1000) >= 1000*wrong, ReactionMS: &ms, ParMS: 2000},
			score.Trial{Kind: score.TrialStep, Name: "a > b"})
		typed := ms * 5
		past.Trials = append(past.Trials, score.Trial{Kind: score.TrialItem, Right: true, ReactionMS: &typed, ParMS: 6000}) // of another kind
	}
	return past
}

// With much to go by it is like somebody, with nothing it is typical, and in between it lies in between.
func TestLike(t *testing.T) {
	typical := person(t, "typical")
	if p, rest := bench.Like(nil); p != typical || rest.Pace != 1 || rest.Slips != 1 || rest.Omissions != 1 || rest.ReactionWeight != 0 {
		t.Errorf("of nothing: %+v, %+v", p, rest)
	}
	for _, c := range []struct {
		n              int
		pace           float64
		least, most    float64
		weight, spread float64
	}{
		{20000, 1.5, 1.47, 1.53, 0.998, 0.07}, {20000, 0.7, 0.69, 0.71, 0.998, 0.07}, {20000, 1, 0.98, 1.02, 0.998, 0.07}, {30, 2, 1.2, 1.7, 0.5, 0.3}, {3, 2, 1.0, 1.2, 3.0 / 33, 0.2},
	} {
		p, rest := bench.Like([]bench.Past{shownBy(c.n, c.pace, 0, false)})
		if rest.Reactions != c.n || rest.Pace < c.least || rest.Pace > c.most || math.Abs(rest.ReactionWeight-c.weight) > 0.001 {
			t.Errorf("%d at %.1f: %+v", c.n, c.pace, rest)
		}
		if got := p.Surprise.Mean() / typical.Surprise.Mean(); math.Abs(got/rest.Pace-1) > 1e-9 {
			t.Errorf("%d at %.1f: surprises take %.3f of the typical time, the pace is %.3f", c.n, c.pace, got, rest.Pace)
		}
		if got := p.Challenge.Sigma / typical.Challenge.Sigma; math.Abs(got-1) > c.spread {
			t.Errorf("%d at %.1f: times vary by %.3f of the typical one's, and should as they do", c.n, c.pace, got)
		}
		if p.Miss != typical.Miss || p.Misjudge != typical.Misjudge {
			t.Errorf("how it looks has changed: %+v", p)
		}
	}
}

// Rates are drawn in the same way: (wrong + 300 usual) / (n + 300), by hand.
func TestLikeSlips(t *testing.T) {
	typical := person(t, "typical").Slips
	usual := typical.Omission*typical.Uncorrected + (typical.Rote+typical.CheckReading)/2
	p, rest := bench.Like([]bench.Past{shownBy(1000, 1, 0.02, false), shownBy(1000, 1, 0.05, true)})
	// Each sitting has as many items of another kind, all of them right.
	want := (20 + 300*usual) / 2300 / usual
	if rest.Asked != 2000 || rest.Wrong != 20 || math.Abs(rest.Slips-want) > 1e-9 || math.Abs(p.Slips.Rote-want*typical.Rote) > 1e-12 {
		t.Errorf("%+v; wanted %v", rest, want)
	}
	want = (50 + 300*0.01) / 2300 / 0.01
	if rest.Forgotten != 50 || math.Abs(rest.Omissions-want) > 1e-9 || math.Abs(p.Slips.FromMemory-want*0.01) > 1e-12 {
		t.Errorf("from memory: %+v; wanted %v", rest, want)
	}
	if p.Slips.Uncorrected != typical.Uncorrected || p.Slips.Stress != typical.Stress {
		t.Errorf("%+v", p.Slips)
	}
	if _, rest := bench.Like([]bench.Past{shownBy(5000, 1, 0.9, false)}); rest.Slips != 10 {
		t.Errorf("somebody of another trade: %+v", rest)
	}
}
