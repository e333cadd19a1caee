package aircraft

import (
	"os"
	"testing"

	"gopkg.in/yaml.v3"
)

// dunlin loads the light twin as its file has it.
func dunlin(tb testing.TB) *Profile {
	tb.Helper()
	f, err := os.Open("../library/profiles/dunlin-lt.yaml")
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	p := new(Profile)
	d := yaml.NewDecoder(f)
	d.KnownFields(true)
	if err := d.Decode(p); err != nil {
		tb.Fatal(err)
	}
	if faults := p.Compile(); len(faults) > 0 {
		tb.Fatal(faults)
	}
	return p
}

func TestDunlinIsSound(t *testing.T) { dunlin(t) }
