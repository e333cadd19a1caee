package condition_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/expr-lang/expr"
	"pgregory.net/rapid"

	"hornlark/drill/condition"
)

var engine = []string{"off", "idle", "flight"}

var scope = condition.Scope{
	"nr":      {Type: condition.Number, Slot: 0},
	"tot1":    {Type: condition.Number, Slot: 1},
	"battery": {Type: condition.Switch, Slot: 2, Positions: []string{"off", "on"}},
	"low_nr":  {Type: condition.Switch, Slot: 3},
	"engine1": {Type: condition.Selector, Slot: 4, Positions: engine},
	"count":   {Type: condition.Number, Slot: 5}, // also the name of a function of expr
}

func TestHolds(t *testing.T) {
	readings := []float64{94, 700, 1, 0, 1, 3} // nr, tot1, battery on, low_nr quiet, engine1 idle, count
	for src, want := range map[string]bool{
		"nr < 95 and battery":                         true,
		"nr < 95 && !battery":                         false,
		"nr <= 94":                                    true,
		"94 == nr":                                    true,
		"nr != 94":                                    false,
		"nr > -1":                                     true,
		"not battery or low_nr":                       false,
		"not (battery and low_nr)":                    true,
		`engine1 == "idle"`:                           true,
		`"idle" != engine1`:                           false,
		`engine1 in ["off", "idle"]`:                  true,
		`engine1 not in ["off", "idle"]`:              false,
		`battery == "on"`:                             true,
		`battery != "on" or battery == "off"`:         false,
		"tot1 - nr * 2 > 500":                         true,
		"(tot1 + nr) / 2 >= 397":                      true,
		"90 < nr < 95":                                true,
		"count == 3":                                  true,
		"low_nr or low_nr or nr > 93 and battery":     true,
		"true and not false":                          true,
		"not not battery":                             true,
		"-nr < +nr":                                   true,
		"nr / 0 > tot1":                               true, // as IEEE 754 has it
		strings.Repeat("battery and ", 100) + "nr>1":  true,
		strings.Repeat("low_nr or ", 100) + "low_nr":  false,
		"battery and battery and nr > 100 or battery": true,
	} {
		c, err := condition.Compile(src, scope)
		if err != nil {
			t.Errorf("%s: %v", src, err)
			continue
		}
		if got := c.Holds(readings); got != want {
			t.Errorf("%s is %v", src, got)
		}
		if c.String() != src {
			t.Errorf("%q gives itself as %q", src, c)
		}
	}
}

func TestRefusals(t *testing.T) {
	for _, test := range []struct {
		src     string
		column  int
		problem string // a part of it
		remedy  string // a part of it
	}{
		{"", 1, "empty", "nr < 95"},
		{"  ", 1, "empty", ""},
		{"nr", 1, "nr is a number", "nr > 0"},
		{"nr + 1", 4, "neither true nor false", "compare"},
		{"95", 1, "neither true nor false", "compare"},
		{"engine1", 1, "more than two positions", `"off", "idle", "flight"`},
		{"battery > 0", 1, "battery is true or false", "not battery"},
		{"engine1 > 0", 1, "engine1 is in a position", `"idle"`},
		{`engine1 == "idel"`, 12, `no position "idel"`, `"idle"`},
		{`engine1 == "up"`, 12, `no position "up"`, `"off", "idle", "flight"`},
		{`engine1 < "idle"`, 9, "no order", "=="},
		{`battery == "onn"`, 12, `no position "onn"`, `"off", "on"`},
		{`battery < "on"`, 11, "is a switch", "not battery"},
		{`low_nr == "on"`, 11, "no positions", "not low_nr"},
		{`nr == "high"`, 7, "no positions", "nr > 0"},
		{`"a" == "b"`, 5, "not a control", "engine1"},
		{"battry", 1, `nothing named "battry"`, "did you mean battery?"},
		{"xyzzy < 3", 1, `nothing named "xyzzy"`, "name of the profile"},
		{"nr < 95 and battry", 13, "battry", "battery"},
		{`engine1 in "idle"`, 9, "list of positions", `["idle", "flight"]`},
		{`engine1 in []`, 9, "list of positions", ""},
		{`engine1 in [1]`, 13, "in quotes", ""},
		{`nr in ["a"]`, 8, "no positions", ""},
		{`3 in [3]`, 3, "a control on its left", ""},
		{"nr < battery", 6, "battery is true or false", ""},
		{"nr < (tot1 > 3)", 12, "where a number is wanted", "not"},
		{"(nr < 3) == (nr < 4)", 5, "where a number is wanted", `"and"`},
		{"nr <", 4, "", ""},
		{"nr % 2 == 0", 4, `"%" is not part`, ""},
		{"nr ** 2 > 3", 4, `"**" is not part`, ""},
		{"nr ? battery : low_nr", 0, "not part of a condition", ""},
		{"nr < 95; battery", 0, "not part of a condition", ""},
		{"let x = 1; x > nr", 0, "not part of a condition", ""},
		{`engine1 contains "i"`, 0, "not part of a condition", ""},
		{`engine1 matches "i"`, 0, "not part of a condition", ""},
		{"len(engine1) > 3", 0, "", ""},
		{"abs(nr) > 3", 0, "", ""},
		{"all([1], # > 3)", 0, "functions", ""},
		{"nr.x > 3", 0, "not part of a condition", ""},
		{"nr[0] > 3", 0, "not part of a condition", ""},
		{`"on"`, 1, "stands by itself", ""},
		{"nil", 1, "", ""},
		{"$env.nr > 1", 0, "", ""},
		{"nr < 1e300", 6, "too large", ""},
		{"battery and nr = 3", 16, "", ""},
		{"nr < \xff", 1, "UTF-8", ""},
		{strings.Repeat("not ", 30) + "battery", 0, "nested", "16"},
		{"nr < " + strings.Repeat("(1 + ", 30) + "1" + strings.Repeat(")", 30), 0, "nested", "16"},
		{strings.Repeat("(", 900) + "nr", 0, "", ""},
		{strings.Repeat("battery and ", 300) + "battery", 1, "bytes long", "2000"},
	} {
		_, err := condition.Compile(test.src, scope)
		var e *condition.Error
		if !errors.As(err, &e) {
			t.Errorf("%.40q: error %v", test.src, err)
			continue
		}
		if test.column != 0 && e.Column != test.column || e.Column < 1 {
			t.Errorf("%.40q: column %d, want %d (%v)", test.src, e.Column, test.column, e)
		}
		if !strings.Contains(e.Problem, test.problem) || !strings.Contains(e.Remedy, test.remedy) {
			t.Errorf("%.40q: %v", test.src, e)
		}
	}
}

// drawExpression draws a condition of the language, as an instructor might nest one.
func drawExpression(t *rapid.T, depth int) string {
	kinds := 6
	if depth <= 0 {
		kinds = 4
	}
	switch rapid.IntRange(0, kinds).Draw(t, "kind") {
	case 0:
		return rapid.SampledFrom([]string{"battery", "low_nr", "true", "false"}).Draw(t, "flag")
	case 1:
		op := rapid.SampledFrom([]string{"==", "!="}).Draw(t, "op")
		return fmt.Sprintf("engine1 %s %q", op, rapid.SampledFrom(engine).Draw(t, "position"))
	case 2:
		in := rapid.SampledFrom([]string{"in", "not in"}).Draw(t, "in")
		return fmt.Sprintf("engine1 %s [%q, %q]", in, rapid.SampledFrom(engine).Draw(t, "a"), rapid.SampledFrom(engine).Draw(t, "b"))
	case 3, 4:
		op := rapid.SampledFrom([]string{"<", "<=", ">", ">=", "==", "!="}).Draw(t, "op")
		return drawNumber(t, depth-1) + " " + op + " " + drawNumber(t, depth-1)
	case 5:
		return "not (" + drawExpression(t, depth-1) + ")"
	}
	op := rapid.SampledFrom([]string{"and", "or", "&&", "||"}).Draw(t, "op")
	return "(" + drawExpression(t, depth-1) + " " + op + " " + drawExpression(t, depth-1) + ")"
}

func drawNumber(t *rapid.T, depth int) string {
	kinds := 4
	if depth <= 0 {
		kinds = 2
	}
	switch rapid.IntRange(0, kinds).Draw(t, "kind") {
	case 0:
		return rapid.SampledFrom([]string{"nr", "tot1", "count"}).Draw(t, "name")
	case 1:
		return fmt.Sprint(rapid.IntRange(0, 1000).Draw(t, "whole"))
	case 2:
		return fmt.Sprintf("%.2f", rapid.Float64Range(0, 1000).Draw(t, "decimal"))
	case 3:
		return "-(" + drawNumber(t, depth-1) + ")"
	}
	op := rapid.SampledFrom([]string{"+", "-", "*", "/"}).Draw(t, "op")
	return "(" + drawNumber(t, depth-1) + " " + op + " " + drawNumber(t, depth-1) + ")"
}

// TestAgainstExpr holds the evaluation to expr's own compiler and machine, which share nothing with it but the parser.
func TestAgainstExpr(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := drawExpression(t, 4)
		c, err := condition.Compile(src, scope)
		if err != nil {
			t.Fatalf("%s: %v", src, err)
		}
		env := map[string]any{"nr": 0.0, "tot1": 0.0, "count": 0.0, "battery": false, "low_nr": false, "engine1": ""}
		program, err := expr.Compile(src, expr.Env(env), expr.AsBool(), expr.DisableAllBuiltins())
		if err != nil {
			t.Fatalf("%s: expr: %v", src, err)
		}
		for range 5 {
			readings := make([]float64, len(scope))
			for _, id := range []string{"nr", "tot1", "count"} {
				// Whole numbers make equality likely.
				v := float64(rapid.IntRange(-3, 1000).Draw(t, id))
				readings[scope[id].Slot], env[id] = v, v
			}
			for _, id := range []string{"battery", "low_nr"} {
				on := rapid.Bool().Draw(t, id)
				env[id] = on
				if on {
					readings[scope[id].Slot] = 1
				}
			}
			position := rapid.IntRange(0, 2).Draw(t, "engine1")
			readings[scope["engine1"].Slot], env["engine1"] = float64(position), engine[position]
			want, err := expr.Run(program, env)
			if err != nil {
				t.Fatalf("%s: expr: %v", src, err)
			}
			if got := c.Holds(readings); got != want.(bool) {
				t.Fatalf("%s with %v: %v, expr says %v", src, env, got, want)
			}
		}
	})
}

func TestHoldsDoesNotAllocate(t *testing.T) {
	c, err := condition.Compile(`nr < 95 and battery and (tot1 - nr > 3 or engine1 in ["off", "idle"])`, scope)
	if err != nil {
		t.Fatal(err)
	}
	readings := make([]float64, len(scope))
	if n := testing.AllocsPerRun(100, func() { c.Holds(readings) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func FuzzCompile(f *testing.F) {
	for _, seed := range []string{
		"nr < 95 and battery", `engine1 in ["off","idle"]`, "not (low_nr or tot1 - 3 * nr > 7)", `battery == "on"`,
		"a ?? b", "nr |> abs()", "((((", `"\u{110000}"`, "nr < 0x1p-2", "1..3", "#", "let a = 1; a", "{a: 1}", "not", "not not in []",
	} {
		f.Add(seed)
	}
	readings := []float64{94, math.Inf(1), 1, 0, 2, math.NaN()}
	f.Fuzz(func(t *testing.T, src string) {
		c, err := condition.Compile(src, scope)
		if err == nil {
			c.Holds(readings)
			return
		}
		var e *condition.Error
		if !errors.As(err, &e) || e.Column < 1 || e.Problem == "" {
			t.Errorf("%q: %#v", src, err)
		}
	})
}

func BenchmarkHolds(b *testing.B) {
	c, err := condition.Compile("nr < 95 and battery", scope)
	if err != nil {
		b.Fatal(err)
	}
	readings := []float64{94, 700, 1, 0, 1, 3}
	for b.Loop() {
		c.Holds(readings)
	}
}
