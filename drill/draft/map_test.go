package draft

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/library"
	"hornlark/drill/procedure"
)

func builtin(t *testing.T, name string) *aircraft.Profile {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	p, err := lib.Profile(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// brief is what a line has become, in a word or two.
func brief(g *mapped) string {
	if g.problem != "" {
		return "not mapped"
	}
	var moves []string
	for _, s := range g.set {
		moves = append(moves, s.Control+"="+s.Position)
	}
	out := fmt.Sprintf("%s %s%s%s", g.kind, strings.Join(moves, ","), g.cond, g.read)
	if g.guess != "" {
		out += " ?"
	}
	return out
}

func TestMap(t *testing.T) {
	for _, c := range []struct{ profile, challenge, response, want string }{
		{"dunlin-lt", "BATT", "ON", "set battery=on"},
		{"dunlin-lt", "Battery switch", "switched off", "set battery=off ?"},
		{"dunlin-lt", "Gens", "BOTH ON", "set gen1=on,gen2=on"},
		{"dunlin-lt", "Generator 2", "on", "set gen2=on"},
		{"dunlin-lt", "Generator", "on", "set gen1=on,gen2=on ?"},
		{"dunlin-lt", "Generator no. two", "on", "set gen2=on"},
		{"dunlin-lt", "Generator 3", "on", "not mapped"},
		{"dunlin-lt", "GPU", "connected", "set ext_power=on"},
		{"dunlin-lt", "Fuel levers, bay cuts", "shut, open", "set lever1=shut,lever2=shut,cut1=open,cut2=open"},
		{"dunlin-lt", "Cyclic and pedals", "centred and neutral", "set cyclic=centred,pedals=neutral"},
		{"dunlin-lt", "Battery", "check off", "check not battery"},
		{"dunlin-lt", "Check battery", "off", "check not battery"},
		{"dunlin-lt", "Avionics", "ESS", "set avionics=essential"},
		{"dunlin-lt", "Avionics", "confirm all", "check avionics == \"all\""},
		{"dunlin-lt", "Avionics", "off", "set avionics=off"},
		{"dunlin-lt", "Collective", "full down", "set collective=0 ?"},
		{"dunlin-lt", "Collective", "forty percent", "set collective=40"},
		{"dunlin-lt", "Collective", "45 %", "not mapped"},
		{"dunlin-lt", "Rotor brake", "RELEASED", "set rotor_brake=off"},
		{"dunlin-lt", "Fire test", "bay 1", "set fire_test=bay 1"},
		{"dunlin-lt", "NR", "100 %", "check nr >= 99 and nr <= 101 ?"},
		{"dunlin-lt", "Rotor RPM", "95 – 104 %", "check nr >= 95 and nr <= 104"},
		{"dunlin-lt", "Oil pressures", "green", "check oil_press1 >= 2 and oil_press1 < 8.5 and oil_press2 >= 2 and oil_press2 < 8.5"},
		{"dunlin-lt", "TOT 1", "not above 760", "check tot1 <= 760"},
		{"dunlin-lt", "TOT 1", "max. 760 °C", "check tot1 <= 760"},
		{"dunlin-lt", "ITT 1", "below seven hundred and sixty", "check tot1 <= 760"},
		{"dunlin-lt", "Voltage", "24.5 V min", "check volts >= 24.5"},
		{"dunlin-lt", "OAT", "-5 to 40", "check oat >= -5 and oat <= 40"},
		{"dunlin-lt", "Voltage", "checked", "check volts >= 23.5 and volts < 29.2 ?"},
		{"dunlin-lt", "Fuel", "____ kg", "read fuel"},
		{"dunlin-lt", "OAT", "note", "read oat"},
		{"dunlin-lt", "N1 1", "rising", "not mapped"},
		{"dunlin-lt", "Fire lights", "out", "check not fire1 and not fire2"},
		{"dunlin-lt", "Low NR warning", "ON", "check rotor_low"},
		{"dunlin-lt", "Rotor brake caption", "out", "check not brake_on"},
		{"dunlin-lt", "Chip lights", "extinguished", "check not chip1 and not chip2"},
		{"dunlin-lt", "Warnings", "out", "check not rotor_low and not rotor_high and not fire1 and not fire2 and not eng_out1 and not eng_out2 and not gbx_oil and not batt_hot"},
		{"dunlin-lt", "Warnings", "lit", "not mapped"},
		{"dunlin-lt", "Fire guard", "posted", "confirm guard_posted"},
		{"dunlin-lt", "Area round the rotor", "clear", "confirm area_clear"},
		{"dunlin-lt", "Passengers", "briefed", "not mapped"},
		{"dunlin-lt", "Battery", "checked", "not mapped"},
		{"dunlin-lt", "Start checks", "COMPLETE", "confirm true"},
		{"dunlin-lt", "Power", "complete", "confirm true"},
		{"dunlin-lt", "Passenger brief", "complete", "not mapped"},
		{"dunlin-lt", "FADEC 1/2", "ON / ON", "set fadec1=on,fadec2=on"},
		{"dunlin-lt", "Fire test, bay 1", "TEST", "set fire_test=bay 1 ?"},
		{"dunlin-lt", "Fuel qty", "kg", "read fuel ?"},
		{"dunlin-lt", "Starter 2", "PRESS & RELEASE", "set start2=pressed ?"},
		{"whinchat-pt", "Warning lights", "NIL", "check not rotor_low and not rotor_high and not fire and not oil and not gbx_oil and not batt_hot"},
		{"dunlin-lt", "Pitot heat", "as req'd", "not mapped"},
		{"whinchat-pt", "Magnetos", "both on", "set mag_left=on,mag_right=on"},
		{"whinchat-pt", "L MAG", "on", "set mag_left=on"},
		{"whinchat-pt", "Left magneto", "off", "set mag_left=off"},
		{"whinchat-pt", "Mixture", "idle cut-off", "set mixture=cut-off"},
		{"whinchat-pt", "Throttle", "closed", "set throttle=0 ?"},
		{"whinchat-pt", "Cylinder head temperature", "in the green", "check head_temp >= 70 and head_temp < 215"},
		{"turnstone-st", "Hydraulics", "on", "set hyd_switch=on"},
		{"turnstone-st", "Strobe", "on", "not mapped"},
	} {
		p := builtin(t, c.profile)
		m := newMapper(p)
		got := m.line(Line{Row: 1, Challenge: c.challenge, Response: c.response}, "Power", nil)
		if brief(&got) != c.want {
			t.Errorf("%s: %q, %q: %s (%s), want %s", c.profile, c.challenge, c.response, brief(&got), got.guess+got.problem, c.want)
		}
	}
}

func TestFigures(t *testing.T) {
	for text, want := range map[string][]float64{
		"twenty six": {26}, "Above twenty three": {23}, "one hundred and five percent": {105}, "24.5 V": {24.5}, "60 – 65": {60, 65}, "ten, twenty": {10, 20},
		"-5": {-5}, "N1 is up": nil, "zero": {0}, "five hundred": {500}, "four forty": {4, 40}, "nineteen": {19}, "thirty, two": {32}, "no 2": {2},
	} {
		if got := figures(text); !slices.Equal(got, want) {
			t.Errorf("%q: %v, want %v", text, got, want)
		}
	}
}

// The flows that are built in, each item as a line of a checklist: no move of a control becomes a move of another one, or to another
// position, without a word about it.
func TestBuiltInFlowsAsChecklists(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	same, guessed, other, unmapped := 0, 0, 0, 0
	for _, proc := range lib.Procedures() {
		p := builtin(t, proc.Profile)
		m := newMapper(p)
		proc.Each(func(ph *procedure.Phase, it *procedure.Item) {
			if it.Kind() != procedure.Set {
				return
			}
			got := m.line(Line{Row: 1, Challenge: it.Challenge, Response: it.Response}, ph.Title, nil)
			alike := got.kind == procedure.Set && len(got.set) == len(it.Set) && !slices.ContainsFunc(it.Set, func(s aircraft.Setting) bool { return !slices.Contains(got.set, s) })
			switch {
			case got.problem != "":
				unmapped++
			case alike && got.guess == "":
				same++
			case alike:
				guessed++
			case got.guess != "":
				other++
			default:
				t.Errorf("%s, %s: %q, %q has become %s, and was %v", proc.Name, it.ID, it.Challenge, it.Response, brief(&got), it.Set)
			}
		})
	}
	t.Logf("%d the same, %d the same by a guess, %d other by a guess, %d not mapped", same, guessed, other, unmapped)
	if all := same + guessed + other + unmapped; all < 150 || 4*(same+guessed) < 3*all || other > all/20 {
		t.Errorf("of %d moves only %d are found, and %d are others", all, same+guessed, other)
	}
}
