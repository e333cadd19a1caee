package condition_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"hornlark/drill/condition"
	"hornlark/drill/fault"
)

// refusal is what is wrong with a condition; empty where nothing is.
func refusal(src string, scope condition.Scope) string {
	_, err := condition.Compile(src, scope)
	if err == nil {
		return ""
	}
	return err.Error()
}

// A condition may be as long, as deeply nested and as large in its numbers as the bounds say, and not beyond. Each kind of nesting
// is tried by itself and has to be left again: as many of it side by side are no nesting.
func TestBounds(t *testing.T) {
	repeat := strings.Repeat
	flat := func(part string) string { return repeat(part+" or ", 20) + part }
	for _, c := range []struct {
		name, good, wrong, problem string
	}{
		{"length", "nr < 95" + repeat(" ", condition.MaxLength-7), "nr < 95" + repeat(" ", condition.MaxLength-6), "2001 bytes"},
		{"not", repeat("not ", 16) + "battery", repeat("not ", 17) + "battery", "nested"},
		{"minus", "nr < " + repeat("- ", 15) + "nr", "nr < " + repeat("- ", 16) + "nr", "nested"},
		{"plus", "nr < " + repeat("+ ", 15) + "nr", "nr < " + repeat("+ ", 16) + "nr", "nested"},
		{"sums", "nr < " + repeat("1 + (", 15) + "1" + repeat(")", 15), "nr < " + repeat("1 + (", 16) + "1" + repeat(")", 16), "nested"},
		{"and in or", nested(16), nested(17), "nested"},
		{"not around a comparison", repeat("not ", 15) + "(nr < 1)", repeat("not ", 16) + "(nr < 1)", "nested"},
		{"not side by side", flat("not battery"), "", ""},
		{"comparisons side by side", flat("nr < 1"), "", ""},
		{"sums side by side", flat("nr + 1 < 1"), "", ""},
		{"signs side by side", flat("-nr < 1"), "", ""},
		{"ands side by side", flat("(battery and low_nr)"), "", ""},
		{"whole number", "nr < 1000000000", "nr < 1000000001", "too large"},
		{"number", "nr < 1e9", "nr < 1000000000.5", "too large"},
		{"number before", "1e9 > nr", "1000000000.5 > nr", "too large"},
	} {
		if got := refusal(c.good, scope); got != "" {
			t.Errorf("%s: %s", c.name, got)
		}
		if got := refusal(c.wrong, scope); c.wrong != "" && !strings.Contains(got, c.problem) {
			t.Errorf("%s: %q; wanted it refused: %s", c.name, got, c.problem)
		}
	}
}

// nested has "and" in "or" in "and", so deep.
func nested(depth int) string {
	src := "battery"
	for k := range depth {
		src = fmt.Sprintf("battery %s (%s)", []string{"and", "or"}[k%2], src)
	}
	return src
}

// A control may have very many positions: each is told from all others, by itself and in a list of some that lie apart.
func TestManyPositions(t *testing.T) {
	positions := make([]string, 130)
	for i := range positions {
		positions[i] = fmt.Sprint("p", i)
	}
	scope := condition.Scope{"drum": {Type: condition.Selector, Slot: 0, Positions: positions}}
	for i := range positions {
		other := (i + 65) % len(positions)
		for src, wanted := range map[string][]int{
			fmt.Sprintf("drum == %q", positions[i]):                         {i},
			fmt.Sprintf("drum in [%q]", positions[i]):                       {i},
			fmt.Sprintf("drum in [%q, %q]", positions[i], positions[other]): {i, other},
		} {
			c, err := condition.Compile(src, scope)
			if err != nil {
				t.Fatal(err)
			}
			for at := range positions {
				if c.Holds([]float64{float64(at)}) != slices.Contains(wanted, at) {
					t.Errorf("%s is wrong at p%d", src, at)
				}
			}
		}
	}
}

// What a condition hangs on are the readings that it names, however they stand in it, and no others.
func TestReads(t *testing.T) {
	for src, names := range map[string]string{
		"nr < 95":                            "nr",
		"tot1 + nr > 3 and battery":          "nr tot1 battery",
		`battery == "on"`:                    "battery",
		`battery != "on"`:                    "battery",
		`engine1 in ["off"] or not low_nr`:   "engine1 low_nr",
		`"idle" == engine1 and -count < +nr`: "engine1 count nr",
		"true":                               "",
	} {
		c, err := condition.Compile(src, scope)
		if err != nil {
			t.Fatal(err)
		}
		for name, n := range scope {
			if want := strings.Contains(" "+names+" ", " "+name+" "); c.Reads(n.Slot) != want {
				t.Errorf("%s reads %s: %v", src, name, !want)
			}
		}
	}
}

// A switch that is compared with its position is the switch itself, or its opposite, whichever way round it is written; one whose
// positions are not two can only be asked whether it is off its first.
func TestSwitchesByPosition(t *testing.T) {
	scope := condition.Scope{
		"battery": {Type: condition.Switch, Slot: 0, Positions: []string{"off", "on"}},
		"odd":     {Type: condition.Switch, Slot: 0, Positions: []string{"off", "on", "test"}},
	}
	for src, on := range map[string]bool{
		"battery": true, "not battery": false, `battery == "on"`: true, `battery == "off"`: false, `battery != "on"`: false,
		`battery != "off"`: true, `"on" == battery`: true, `"off" != battery`: true, `not (battery == "off")`: true,
	} {
		c, err := condition.Compile(src, scope)
		if err != nil {
			t.Fatal(err)
		}
		for _, value := range []float64{0, 1} {
			if c.Holds([]float64{value}) != (on == (value == 1)) {
				t.Errorf("%s is wrong at %g", src, value)
			}
		}
	}
	for src, problem := range map[string]string{
		`odd == "on"`: "odd is a switch", `odd != "test"`: "odd is a switch", `battery in ["on"]`: "battery is a switch",
		`battery == "up"`: `no position "up"`, `batery == "on"`: `nothing named "batery"`,
	} {
		if got := refusal(src, scope); !strings.Contains(got, problem) {
			t.Errorf("%s: %q; wanted %s", src, got, problem)
		}
	}
}

// Three and more of a kind, one of which decides, at whatever place.
func TestLongChains(t *testing.T) {
	for _, n := range []int{2, 3, 4, 7} {
		for decides := range n {
			for _, c := range []struct {
				joint, rest, one string
				want             bool
			}{{" and ", "battery", "low_nr", false}, {" or ", "low_nr", "battery", true}, {" && ", "battery", "low_nr", false}, {" || ", "low_nr", "battery", true}} {
				parts := make([]string, n)
				for k := range parts {
					parts[k] = c.rest
				}
				for _, one := range []string{c.rest, c.one} {
					parts[decides] = one
					src := strings.Join(parts, c.joint)
					compiled, err := condition.Compile(src, scope)
					if err != nil {
						t.Fatal(err)
					}
					readings := []float64{94, 700, 1, 0, 1, 3} // battery on, low_nr quiet
					if want := c.want == (one == c.one); compiled.Holds(readings) != want {
						t.Errorf("%s is %v", src, !want)
					}
				}
			}
		}
	}
}

// A field that was left out is no fault; anything else that does not compile is one, with its place and its column.
func TestCheck(t *testing.T) {
	var faults fault.List
	condition.Check(&faults, "abnormal.handled", "", scope)
	condition.Check(&faults, "abnormal.lost", "nr < 95", scope)
	if len(faults) != 0 {
		t.Fatalf("%v", faults.Err())
	}
	condition.Check(&faults, "abnormal.lost", "nr < battry", scope)
	condition.Check(&faults, "abnormal.handled", " ", scope)
	if len(faults) != 2 || faults[0].Path != "abnormal.lost" || faults[0].Column != 6 || !strings.Contains(faults[0].Problem, "battry") ||
		!strings.Contains(faults[0].Remedy, "battery") || faults[1].Path != "abnormal.handled" || !strings.Contains(faults[1].Problem, "empty") {
		t.Errorf("%+v", faults)
	}
}

// An error is one line: the column, what is wrong, and what to do about it where there is something to say of that.
func TestErrorInOneLine(t *testing.T) {
	for _, c := range []struct {
		e    condition.Error
		want string
	}{
		{condition.Error{Column: 3, Problem: "it is wrong", Remedy: "write it right"}, "column 3: it is wrong; write it right"},
		{condition.Error{Column: 3, Problem: "it is wrong"}, "column 3: it is wrong"},
	} {
		if got := c.e.Error(); got != c.want {
			t.Errorf("%q; wanted %q", got, c.want)
		}
	}
	if _, err := condition.Compile("nr < 95 and (battery", scope); err == nil || !errors.As(err, new(*condition.Error)) || strings.HasSuffix(err.Error(), ".") {
		t.Errorf("%v", err)
	}
}

// What stands where something true or false, or a number, is wanted is told by what it would be.
func TestWhatStandsInTheWrongPlace(t *testing.T) {
	const number, truth = "neither true nor false", "where a number is wanted"
	for src, problem := range map[string]string{
		"nr - 1": number, "nr * 2": number, "nr / 2": number, "nr + 2": number, "-nr": number, "+nr": number, "9.5": number, "7": number,
		"battery and -nr": number, "not (nr + 1)": number,
		"nr > (not battery)": truth, "nr > (!battery)": truth, "nr > true": truth, "nr > (nr < 3)": truth, "nr > (nr <= 3)": truth, "nr > (nr >= 3)": truth,
		"nr > (nr == 3)": truth, "nr > (nr != 3)": truth, `nr > (engine1 in ["off"])`: truth, "nr > (battery and low_nr)": truth, "nr > (battery or low_nr)": truth,
		"nr > (battery && low_nr)": truth, "nr > (battery || low_nr)": truth, "-(nr > 3) < 1": truth, "nr + (nr > 3) < 1": truth,
		"(nr > 3) + nr < 1": truth,
		"nr > nr % 2":       `"%" is not part`, "nr ** 2": `"**" is not part`, "nr..3": `".." is not part`,
		`engine1 < "off"`: "positions have no order", `engine1 >= "off"`: "positions have no order",
	} {
		if got := refusal(src, scope); !strings.Contains(got, problem) {
			t.Errorf("%s: %q; wanted %s", src, got, problem)
		}
	}
}

// A limit itself is within "at most" and "at least", and neither below nor above, whatever the two are that are compared.
func TestLimitsThemselves(t *testing.T) {
	for operator, holds := range map[string][3]bool{ // of what is below, at and above the limit
		"<": {true, false, false}, "<=": {true, true, false}, ">": {false, false, true}, ">=": {false, true, true},
		"==": {false, true, false}, "!=": {true, false, true},
	} {
		for _, limit := range []string{"95", "95.0", "tot1", "95 + 0", "-(-95)"} {
			for k, nr := range []float64{94.5, 95, 95.5} {
				readings := []float64{nr, 95, 1, 0, 1, 3}
				for src, want := range map[string]bool{
					"nr " + operator + " " + limit:            holds[k],
					"-(" + limit + ") " + operator + " -nr":   holds[k],
					"nr + 0 " + operator + " " + limit:        holds[k],
					limit + " " + operator + " nr + 0":        holds[2-k],
					"not (nr " + operator + " " + limit + ")": !holds[k],
				} {
					c, err := condition.Compile(src, scope)
					if err != nil {
						t.Fatalf("%s: %v", src, err)
					}
					if c.Holds(readings) != want {
						t.Errorf("%s is %v at %g", src, !want, nr)
					}
				}
			}
		}
	}
}

// A position that is none is told with the one that was meant, where one is near, and with all that there are.
func TestPositionThatWasMeant(t *testing.T) {
	for src, remedy := range map[string]string{
		`engine1 == "flihgt"`: `; did you mean "flight"? The positions are "off", "idle", "flight"`,
		`engine1 == "up"`:     `; write one of "off", "idle", "flight"`,
	} {
		if got := refusal(src, scope); !strings.HasSuffix(got, remedy) {
			t.Errorf("%s: %q; wanted %q", src, got, remedy)
		}
	}
}
