package aircraft

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gopkg.in/yaml.v3"
)

// UnmarshalYAML lets the decoder of these tests, which is not the program's own, read settings in their order.
func (s *Settings) UnmarshalYAML(n *yaml.Node) error {
	for i := 0; i+1 < len(n.Content); i += 2 {
		*s = append(*s, Setting{n.Content[i].Value, n.Content[i+1].Value})
	}
	return nil
}

// profileOf loads a built-in profile as its file has it.
func profileOf(tb testing.TB, name string) *Profile {
	tb.Helper()
	f, err := os.Open("../library/profiles/" + name + ".yaml")
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

// The built-in profiles: a light twin with FADEC, a single that is metered by hand, a piston trainer.
func dunlin(tb testing.TB) *Profile    { tb.Helper(); return profileOf(tb, "dunlin-lt") }
func turnstone(tb testing.TB) *Profile { tb.Helper(); return profileOf(tb, "turnstone-st") }
func whinchat(tb testing.TB) *Profile  { tb.Helper(); return profileOf(tb, "whinchat-pt") }

// everyProfile names the built-in profiles.
func everyProfile(tb testing.TB) []string {
	tb.Helper()
	files, err := filepath.Glob("../library/profiles/*.yaml")
	if err != nil || len(files) == 0 {
		tb.Fatal("no profiles", err)
	}
	var names []string
	for _, file := range files {
		names = append(names, strings.TrimSuffix(filepath.Base(file), ".yaml"))
	}
	return names
}

func TestProfilesAreSound(t *testing.T) {
	for _, name := range everyProfile(t) {
		t.Run(name, func(t *testing.T) { profileOf(t, name) })
	}
}
