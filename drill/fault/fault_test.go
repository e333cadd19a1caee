package fault

import "testing"

// The distances are those of optimal string alignment as it is defined (Boytsov 2011, "Indexing methods for approximate dictionary
// searching", section 2, from memory); CA to ABC is 3 and not 2, as it is where what has been swapped may be changed again.
func TestEditDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"a", "", 1}, {"", "ab", 2}, {"kitten", "sitting", 3}, {"hron", "horn", 1}, {"sya", "say", 1}, {"ca", "abc", 3},
		{"battery", "batery", 1}, {"abcd", "badc", 2}, {"abc", "cba", 2}, {"same", "same", 0},
	} {
		if got := editDistance(c.a, c.b); got != c.want {
			t.Errorf("%q to %q: %d, want %d", c.a, c.b, got, c.want)
		}
		if got := editDistance(c.b, c.a); got != c.want {
			t.Errorf("%q to %q: %d, want %d", c.b, c.a, got, c.want)
		}
	}
}

func TestNearest(t *testing.T) {
	known := []string{"horn", "caption", "gauge", "set", "hot-start", "hot-starts"}
	for written, want := range map[string]string{
		"hron": "horn", "Horn": "horn", "captoin": "caption", "cptin": "caption", "cpn": "", "ste": "set", "st": "", "x": "", "": "",
		"hot-strat": "hot-start", "hot-startss": "hot-starts", "hotstart": "hot-start", "guard": "",
	} {
		if got := Nearest(written, known); got != want {
			t.Errorf("%q: %q, want %q", written, got, want)
		}
	}
}

func TestLikeliest(t *testing.T) {
	known := []string{"battery.weak", "eng1.oil_leak", "gearbox.oil_leak", "eng1.bleed_stuck", "eng2.bleed_stuck", "fuel.leak"}
	for written, want := range map[string]string{
		"oil-leak": "eng1.oil_leak", "gearbox oil": "gearbox.oil_leak", "bleed valve": "eng1.bleed_stuck", "weak_battery": "battery.weak", "": "fuel.leak",
	} {
		if got := Likeliest(written, known, 2); len(got) != 2 || got[0] != want {
			t.Errorf("%q: %q, want %q first", written, got, want)
		}
	}
	if got := Likeliest("x", known[:1], 5); len(got) != 1 {
		t.Errorf("%q of one", got)
	}
}
