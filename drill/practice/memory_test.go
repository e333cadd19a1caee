package practice

import (
	"math"
	"testing"
)

// course runs through grades at the given numbers of days since the time before.
func course(grades []Grade, days []float64) []Memory {
	var m Memory
	list := make([]Memory, len(grades))
	for i, g := range grades {
		m = PublishedWeights.After(m, days[i], g, 1)
		list[i] = m
	}
	return list
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: %.5f, want %.5f", what, got, want)
	}
}

// TestLongTermVector: stability and difficulty after each of Good x6, Again x2, Good x5, each at the interval that the one before gave,
// as ts-fsrs 5.4.2 gives them with its short-term steps and its spread of intervals switched off.
func TestLongTermVector(t *testing.T) {
	grades := []Grade{Good, Good, Good, Good, Good, Good, Again, Again, Good, Good, Good, Good, Good}
	stability := []float64{2.3065, 13.8269, 56.9567, 196.2353, 586.4835, 1559.3567, 9.8832, 1.3527, 2.392, 4.8562, 8.7624, 15.186, 25.1362}
	difficulty := []float64{2.1181, 2.1112, 2.1043, 2.0975, 2.0906, 2.0837, 7.3832, 9.1251, 9.1112, 9.0973, 9.0835, 9.0696, 9.0558}
	intervals := []float64{3, 14, 57, 196, 586, 1559, 10, 1, 3, 5, 9, 15, 25}
	days := append([]float64{0}, intervals[:len(intervals)-1]...)
	for i, m := range course(grades, days) {
		near(t, "stability", m.Stability, stability[i], 0.0001)
		near(t, "difficulty", m.Difficulty, difficulty[i], 0.0001)
	}
}

// TestShortTermVector: Again, then Good x5 at 0, 0, 1, 3, 8 and 21 days, as ts-fsrs 5.4.2 gives it.
func TestShortTermVector(t *testing.T) {
	list := course([]Grade{Again, Good, Good, Good, Good, Good}, []float64{0, 0, 1, 3, 8, 21})
	near(t, "stability", list[5].Stability, 53.6269, 0.0001)
	near(t, "difficulty", list[5].Difficulty, 6.3575, 0.0001)
}

// TestFirstTime: the first stabilities are w0 to w3, the first difficulties those that ts-fsrs 5.4.2 gives.
func TestFirstTime(t *testing.T) {
	difficulty := []float64{6.4133, 5.1122, 2.1181, 1}
	for i, g := range []Grade{Again, Hard, Good, Easy} {
		m := PublishedWeights.After(Memory{}, 0, g, 1)
		near(t, "stability", m.Stability, PublishedWeights[i], 0)
		near(t, "difficulty", m.Difficulty, difficulty[i], 0.0001)
		near(t, "recall after as many days as the stability", PublishedWeights.Recall(m, m.Stability), 0.9, 1e-12)
		near(t, "days to nine in ten", PublishedWeights.Lasts(m, 0.9), m.Stability, 1e-9)
	}
}
