package fault

import (
	"math/rand/v2"
	"testing"
)

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

// Words that are near each other are not passed over by the plain look before they are counted.
func TestNothingNearIsPassedOver(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	near, spared := 0, 0
	word := func() string {
		b := make([]byte, r.IntN(9))
		for i := range b {
			b[i] = "abcdxyz_1\xc3\xa9"[r.IntN(11)]
		}
		return string(b)
	}
	for range 200_000 {
		a, b := word(), word()
		for limit := range 3 {
			far, d := farApart(a, b, limit), editDistance(a, b)
			if far && d <= limit {
				t.Fatalf("%q and %q are %d apart, and are passed over at a limit of %d", a, b, d, limit)
			}
			if far {
				spared++
			} else if d <= limit {
				near++
			}
		}
	}
	if near < 1000 || spared < 100_000 {
		t.Errorf("%d pairs were near, and %d passed over", near, spared)
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
