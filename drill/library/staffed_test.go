package library

import (
	"bytes"
	"slices"
	"testing"

	"hornlark/drill/scenario"
)

// With an instructor a scenario has all abnormals of its aircraft and no other's, those that it names first; it is kept and read again as such.
func TestStaffed(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"first-start", "turnstone-alerts", "piston-start", "limits"} {
		b, err := lib.Resolve(name)
		if err != nil {
			t.Fatal(err)
		}
		named := len(b.Abnormals)
		staffed := lib.Staffed(b)
		if len(b.Abnormals) != named || !slices.Equal(staffed.Abnormals[:named], b.Abnormals) {
			t.Errorf("%s: those that it names are not first", name)
		}
		for _, a := range lib.Abnormals() {
			if has := slices.ContainsFunc(staffed.Abnormals, func(is *scenario.Abnormal) bool { return is == a }); has != (a.Profile == b.Profile.Name) {
				t.Errorf("%s has %s, of %s: %v", name, a.Name, a.Profile, has)
			}
		}
		again, err := Unpack(staffed.Pack())
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !bytes.Equal(again.Pack(), staffed.Pack()) {
			t.Errorf("%s is read otherwise than it was kept: %d abnormals, and there were %d", name, len(again.Abnormals), len(staffed.Abnormals))
		}
	}
}
