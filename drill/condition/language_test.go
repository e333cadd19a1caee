package condition_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/expr-lang/expr/builtin"
	"github.com/expr-lang/expr/parser/operator"

	"hornlark/drill/condition"
)

// told are the forms with the names of a scope that has one of each type.
func told() (condition.Scope, []condition.Form) {
	scope := condition.Scope{
		"nr": {Type: condition.Number, Slot: 0}, "battery": {Type: condition.Switch, Slot: 1},
		"engine": {Type: condition.Selector, Slot: 2, Positions: []string{"stop", "idle", "flight"}},
	}
	return scope, condition.Forms(condition.Sample{Number: "nr", Figure: "95", Switch: "battery", Selector: "engine", Position: "idle", Other: "flight"})
}

// Each form that is told of compiles, says what its sentence says, and stands in its example.
func TestFormsAreConditions(t *testing.T) {
	scope, forms := told()
	// By each example: with NR at 100, at 90 and at 47.5, the battery on and engine at idle; and with the battery off and the engine in flight.
	want := map[string]string{
		"<": "-##-", "<=": "-##-", ">": "#--#", ">=": "#--#", "==": "###-", "!=": "---#", "in": "####", "not in": "----", "and": "#---", "or": "####",
		"not": "---#", "(": "-###", "+": "#--#", "-": "#--#", "*": "####", "/": "----", "0.5": "####", "true": "####",
	}
	want["*"] = "##-#"
	want["-"] = "####"
	readings := [][]float64{{100, 1, 1}, {90, 1, 1}, {47.5, 1, 1}, {100, 0, 2}}
	for _, f := range forms {
		c, err := condition.Compile(f.Example, scope)
		if err != nil {
			t.Errorf("%s: %s: %v", f.Name, f.Example, err)
			continue
		}
		got := ""
		for _, r := range readings {
			if c.Holds(r) {
				got += "#"
			} else {
				got += "-"
			}
		}
		if got != want[f.Name] {
			t.Errorf("%s: %s holds %s, want %s", f.Name, f.Example, got, want[f.Name])
		}
		if !strings.Contains(f.Example, f.Name) || !strings.HasSuffix(f.About, ".") {
			t.Errorf("%s: %s %s", f.Name, f.Example, f.About)
		}
	}
	without := condition.Forms(condition.Sample{Number: "nr", Figure: "95", Switch: "battery"})
	if len(without) != len(forms)-4 {
		t.Errorf("%d forms without a selector, %d with one", len(without), len(forms))
	}
}

// What the language that conditions are cut from has besides, its operators and its functions, is refused.
func TestNothingElseIsACondition(t *testing.T) {
	scope, forms := told()
	var names []string
	for _, f := range forms {
		names = append(names, f.Name)
	}
	names = append(names, "&&", "||") // told of with and, or
	refused := 0
	for op := range operator.Binary {
		sources := []string{"nr " + op + " 95", "nr " + op + " 95 > 0", "battery " + op + " battery", `engine ` + op + ` "idle"`, `engine ` + op + ` ["idle"]`}
		taken := slices.ContainsFunc(sources, func(src string) bool { _, err := condition.Compile(src, scope); return err == nil })
		if taken != slices.Contains(names, op) {
			t.Errorf("%s: taken %v, told %v", op, taken, slices.Contains(names, op))
		}
		if !taken {
			refused++
		}
	}
	for _, name := range builtin.Names {
		for _, src := range []string{name + "(nr) > 0", name + "(nr, 1) > 0", name + "([nr], # > 0)", name + "(nr)", name + "([nr])"} {
			if _, err := condition.Compile(src, scope); err == nil {
				t.Errorf("%s is taken", src)
			}
		}
		refused++
	}
	for _, src := range []string{"battery ? true : false", "nr[0] > 1", "let x = nr; x > 1", "nr ?? 1 > 0", `engine matches "i"`, "nr > 1_0e", "[nr] == [nr]", "{a: 1} == 1", "nil"} {
		if _, err := condition.Compile(src, scope); err == nil {
			t.Errorf("%s is taken", src)
		}
	}
	if refused < 30 {
		t.Errorf("only %d were refused", refused)
	}
}
