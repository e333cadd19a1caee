package web

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"hornlark/drill/scenario"
)

// What a page gives as a time is a time, or none: no figure of a stranger's becomes a moment far away.
func TestTimesOfAPage(t *testing.T) {
	for given, want := range map[float64]time.Duration{
		0: 0, 1.5: 1500 * time.Microsecond, 1e12: 1e12 * time.Millisecond, -1e12: -1e12 * time.Millisecond,
		1.1e12: -1, -1.1e12: -1, math.Inf(1): -1, math.Inf(-1): -1, math.MaxFloat64: -1,
	} {
		if got := ms(given); got != want {
			t.Errorf("%v ms: %v, want %v", given, got, want)
		}
	}
	if got := ms(math.NaN()); got != -1 {
		t.Errorf("what is no number: %v", got)
	}
}

// Of a sheet the first choice counts, if it is one of its own: not one of the sheet before, none that it does not offer, none that is too long.
func TestChoices(t *testing.T) {
	s := &Site{chosen: make(chan Choice, 1)}
	s.choose(&heard{N: 0, Key: "a"}) // where there is no sheet
	for _, m := range []heard{{N: 2, Key: "a"}, {N: 3, Key: "c"}, {N: 3, Key: "a", Answer: strings.Repeat("x", longestAnswer+1)}} {
		s.now = &sheetShown{sheet: Sheet{Offers: []Offer{{Key: "a"}, {Key: "b"}}}, number: 3}
		s.choose(&m)
		if len(s.chosen) > 0 {
			t.Errorf("%+v was chosen", m)
		}
	}
	s.choose(&heard{N: 3, Key: "b", Answer: strings.Repeat("x", longestAnswer)})
	if c := <-s.chosen; c.Key != "b" || len(c.Answer) != longestAnswer {
		t.Errorf("%+v was chosen", c)
	}
	s.choose(&heard{N: 3, Key: "a"})
	s.choose(&heard{N: 0, Key: "a"})
	if len(s.chosen) > 0 {
		t.Error("two were chosen of one sheet")
	}
}

// A station is told of every abnormal that can be put in, each under its own name, and of none besides.
func TestWhatAStationCanInsert(t *testing.T) {
	ex := exercise(t, "first-start")
	hello := helloOf(&About{Ex: ex}, NewFace(ex.Profile, "", ""))
	var told []string
	for _, a := range hello.Abnormals {
		told = append(told, a.Name)
		i := slices.IndexFunc(ex.Bundle.Abnormals, func(ab *scenario.Abnormal) bool { return ab.Name == a.Name })
		if i < 0 || ex.Bundle.Abnormals[i].Title != a.Title || ex.Bundle.Abnormals[i].Harmless != a.Harmless {
			t.Errorf("of %s is told %+v", a.Name, a)
		}
	}
	if !slices.Equal(told, ex.CanInsert()) || len(told) == 0 {
		t.Errorf("told are %v, want %v", told, ex.CanInsert())
	}
}
