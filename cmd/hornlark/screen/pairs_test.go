package screen

import (
	"testing"

	"hornlark/drill/library"
)

// Only the twin has engines to stand beside each other; N1 and N2 of a single are no pair. No gauge is left out or shown twice.
func TestOnlyATwinHasPairs(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range lib.Profiles() {
		pairs := pairGauges(p.Gauges)
		if twin := len(p.Systems.Engines) == 2; twin != (len(pairs.left) > 0) {
			t.Errorf("%s has %d pairs", p.Name, len(pairs.left))
		}
		shown := map[int]int{}
		for _, column := range pairs.columns() {
			for _, g := range column.gauges {
				shown[g]++
			}
		}
		for g := range p.Gauges {
			if shown[g] != 1 {
				t.Errorf("%s: %s is shown %d times", p.Name, p.Gauges[g].ID, shown[g])
			}
		}
	}
}
