package library

import (
	"slices"
	"testing"

	"hornlark/drill/aircraft"
	"hornlark/drill/procedure"
)

// Controls stay in the order in which a document has them, and in which it was packed.
func TestSettingsAreReadInTheirOrder(t *testing.T) {
	const text = "phases: [{items: [{set: {guard: up, cut: closed, battery: off}, if_not: {set: {b: x, a: y}}}]}]"
	for _, written := range []string{text, string(pack(readProcedure(t, text)))} {
		it := readProcedure(t, written).Phases[0].Items[0]
		if want := aircraft.Put("guard", "up", "cut", "closed", "battery", "off"); !slices.Equal(it.Set, want) {
			t.Errorf("%v", it.Set)
		}
		if want := aircraft.Put("b", "x", "a", "y"); !slices.Equal(it.IfNot.Set, want) {
			t.Errorf("%v", it.IfNot.Set)
		}
	}
}

func readProcedure(t *testing.T, text string) *procedure.Procedure {
	t.Helper()
	doc, problems := parse("procedure.yaml", []byte(text))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	var p procedure.Procedure
	if problems := doc.decode(&p); len(problems) > 0 {
		t.Fatal(problems)
	}
	return &p
}
