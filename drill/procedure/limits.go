package procedure

import (
	"math/rand/v2"
	"slices"
	"strconv"

	"hornlark/drill/aircraft"
)

// LimitsPhase is the id of the one phase that figures are asked in.
const LimitsPhase = "limits"

// Limits is the figures of a profile as a procedure of questions: where each gauge has its limits and its cautions.
// Gauges of the same scale and bands, as those of two engines, are asked about once. The order is drawn with the seed;
// n is how many are asked, and zero is all.
func Limits(prof *aircraft.Profile, n int, seed uint64) *Procedure {
	items := figures(prof)
	draw := rand.New(rand.NewPCG(seed, 0x6c696d697473))
	draw.Shuffle(len(items), func(i, j int) { items[i], items[j] = items[j], items[i] })
	if n > 0 && n < len(items) {
		items = items[:n]
	}
	return &Procedure{
		Name: prof.Name + "-limits", Title: prof.Title + ", limits", Profile: prof.Name,
		About:  "The figures of " + prof.Title + ", which never existed. Those of a real aircraft are in its flight manual.",
		Phases: []Phase{{ID: LimitsPhase, Title: "Limits", Items: items}},
	}
}

// figures gives a question for every boundary that a pilot should know, in the order of the gauges.
func figures(prof *aircraft.Profile) []Item {
	var items []Item
	for i := range prof.Gauges {
		g := &prof.Gauges[i]
		if g.Spoken == "" || slices.ContainsFunc(prof.Gauges[:i], func(o aircraft.Gauge) bool { return sameScale(&o, g) }) {
			continue
		}
		for b := 1; b < len(g.Bands); b++ {
			if what, id := boundary(g.Bands[b-1].Colour, g.Bands[b].Colour); what != "" {
				items = append(items, figure(g, g.Bands[b].From, what, id))
			}
		}
	}
	return items
}

func sameScale(a, b *aircraft.Gauge) bool {
	return a.Unit == b.Unit && len(a.Bands) > 0 && slices.Equal(a.Bands, b.Bands)
}

// boundary says what lies between two bands.
func boundary(below, above aircraft.Colour) (what, id string) {
	switch {
	case below == aircraft.Red:
		return "lower limit", "least"
	case above == aircraft.Red:
		return "upper limit", "most"
	case below == aircraft.Amber && above == aircraft.Green:
		return "caution below", "caution-below"
	case below == aircraft.Green && above == aircraft.Amber:
		return "caution above", "caution-above"
	}
	return "", ""
}

func figure(g *aircraft.Gauge, value float64, what, id string) Item {
	return Item{
		ID:        g.ID + "-" + id,
		Challenge: g.Spoken + ", " + what,
		Response:  strconv.FormatFloat(value, 'f', -1, 64),
		Figure:    &Value{Gauge: g.ID, Value: value},
		Look:      []string{g.ID},
	}
}
