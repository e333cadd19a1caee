package screen

import (
	"os"
	"testing"
	"time"

	"gopkg.in/yaml.v3"

	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/scenario"
)

// twin is the profile that the tests show: 41 controls, 24 gauges, 38 captions.
func twin(t testing.TB) *aircraft.Profile {
	t.Helper()
	data, err := os.ReadFile("testdata/twin.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var p aircraft.Profile
	if err := yaml.Unmarshal(data, &p); err != nil {
		t.Fatal(err)
	}
	return &p
}

// running is the twin with both engines at idle and nothing wrong.
func running(p *aircraft.Profile) *drill.View {
	v := &drill.View{
		At: 252 * time.Second, Phase: "Engine 1 start", PhaseNo: 4, Phases: 9, ItemNo: 27, Items: 62,
		Asked: &drill.Question{
			Item: "oil-pressure-1", Kind: "check", Challenge: "Oil pressure, engine one",
			Spoken: 250500 * time.Millisecond, Within: 6 * time.Second,
		},
		Last:      drill.Response{Item: "n1-idle", Text: "N1 stable at idle", Right: true, Reaction: 812 * time.Millisecond, At: 247 * time.Second},
		Readings:  make([]float64, len(p.Gauges)),
		Bands:     make([]aircraft.Colour, len(p.Gauges)),
		Alive:     make([]bool, len(p.Gauges)),
		Lit:       make([]bool, len(p.Captions)),
		Sounding:  make([]bool, len(p.Alerts)),
		Positions: make([]int, len(p.Controls)),
		Locked:    make([]bool, len(p.Controls)),
		Facts:     make([]bool, len(p.Outside)),
		Seen:      make([]bool, len(p.Outside)),
		Said: []drill.Line{
			{At: 245 * time.Second, Who: "challenger", Text: "N1, engine one"},
			{At: 247812 * time.Millisecond, Who: "trainee", Text: "yes"},
			{At: 247900 * time.Millisecond, Who: "responder", Text: "N1 stable at idle"},
			{At: 248400 * time.Millisecond, Who: "challenger", Text: "Oil pressure, engine one"},
		},
	}
	for i := range p.Gauges {
		for _, b := range p.Gauges[i].Bands {
			if b.Colour == aircraft.Green || b.Colour == aircraft.White {
				read(p, v, p.Gauges[i].ID, b.From+0.4*(b.To-b.From))
			}
		}
	}
	for i := range p.Outside {
		v.Facts[i], v.Seen[i] = true, true
	}
	for _, id := range []string{"battery", "gen1", "guard1", "friction", "doors", "harness", "fadec1", "fadec2", "engine1"} {
		for i := range p.Controls {
			if p.Controls[i].ID == id {
				v.Positions[i] = 1
			}
		}
	}
	return v
}

// read makes a gauge show a value, and puts it into the band that the profile has there.
func read(p *aircraft.Profile, v *drill.View, id string, value float64) {
	for i := range p.Gauges {
		if p.Gauges[i].ID != id {
			continue
		}
		v.Readings[i], v.Alive[i], v.Bands[i] = value, true, ""
		for _, b := range p.Gauges[i].Bands {
			if value >= b.From && value <= b.To && urgency(b.Colour) > urgency(v.Bands[i]) {
				v.Bands[i] = b.Colour
			}
		}
	}
}

func light(p *aircraft.Profile, v *drill.View, ids ...string) {
	for _, id := range ids {
		for i := range p.Captions {
			if p.Captions[i].ID == id {
				v.Lit[i] = true
			}
		}
		for i := range p.Alerts {
			if p.Alerts[i].ID == id {
				v.Sounding[i] = true
			}
		}
	}
}

// troubled is the twin with a hot engine, a sinking rotor, and the horn on.
func troubled(p *aircraft.Profile) *drill.View {
	v := running(p)
	v.Stopped = true
	v.Said = append(v.Said, drill.Line{At: 252 * time.Second, Who: "trainee", Text: "stop"})
	v.Last = drill.Response{Item: "tot-idle", Text: "TOT was not in limits", Reaction: 1904 * time.Millisecond, At: 251 * time.Second}
	read(p, v, "nr", 93.2)
	read(p, v, "tot1", 873)
	read(p, v, "trq2", 104)
	v.Alive[0] = false
	light(p, v, "rotor_low", "fire1", "oil1", "gen_off1", "gen_off2", "hyd1", "door", "pitot_off1", "ap_off", "starter1", "low_nr", "chime")
	v.Facts[1] = false
	return v
}

func options(p *aircraft.Profile) Options {
	return Options{Profile: p, Title: "First start at Skerry Sound", Policy: policy(scenario.Prompted), Help: scenario.Names}
}

func policy(name scenario.PolicyName) scenario.Policy {
	p, _ := scenario.PolicyOf(name)
	return p
}

// shot draws a page as it would be seen.
func shot(p page, width, height int, mono bool) string {
	c := newCanvas(width, height)
	p.draw(c)
	if mono {
		return c.String(noColour, false)
	}
	return c.String(of256, false)
}
