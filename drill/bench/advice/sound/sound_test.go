package sound

import (
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hornlark/scripts/ownhome"
)

func TestMain(m *testing.M) { ownhome.Main(m) }

// Differences worked out by hand from the tables of Kondrak 2002, pages 54 to 56, with the weights of the port.
func TestDifferences(t *testing.T) {
	for _, c := range []struct {
		p, q rune
		want float64
	}{
		{'p', 'p', 0}, {'p', 'b', 5}, {'b', 'm', 20}, {'p', 'q', 20}, {'t', 'k', 10}, {'t', 's', 7.5}, {'θ', 't', 9.5}, {'i', 'e', 1.5}, {'i', 'u', 4}, {'æ', 'i', 3},
		{'n', 'ŋ', 10}, {'l', 'ɹ', 10}, {'p', 'i', 115},
	} {
		if got := difference(segments[c.p], segments[c.q]); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%c and %c differ by %g, want %g", c.p, c.q, got, c.want)
		}
		if got := difference(segments[c.q], segments[c.p]); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%c and %c differ by %g, want %g", c.q, c.p, got, c.want)
		}
	}
}

// The best score is that of the alignments which are published with the port (the documentation and the unit test of NLTK, metrics/aline):
// thin with tenwis segment by segment and a rest, tongue with tsungə by one segment for two.
func TestPublishedAlignments(t *testing.T) {
	s := func(r rune) segment { return segments[r] }
	for _, c := range []struct {
		a, b string
		want float64
	}{
		{"θin", "tenwis", substitute(s('θ'), s('t')) + substitute(s('i'), s('e')) + substitute(s('n'), s('n'))},
		{"təŋ", "tsuŋə", max(
			substitute(s('t'), s('t'))+skip+substitute(s('ə'), s('u'))+substitute(s('ŋ'), s('ŋ')),
			expand(s('t'), s('t'), s('s'))+substitute(s('ə'), s('u'))+substitute(s('ŋ'), s('ŋ')))},
	} {
		if got := score(segmentsOf(c.a), segmentsOf(c.b)); got != c.want {
			t.Errorf("%s with %s: %g, want %g", c.a, c.b, got, c.want)
		}
	}
}

// The table comes to what trying every alignment of every part comes to.
func TestBestOfAll(t *testing.T) {
	letters := []rune("ptksmnlwiəu")
	var best func(a, b []segment) float64 // of alignments that begin here
	best = func(a, b []segment) float64 {
		most := 0.0
		if len(a) > 0 {
			most = max(most, skip+best(a[1:], b))
		}
		if len(b) > 0 {
			most = max(most, skip+best(a, b[1:]))
		}
		if len(a) > 0 && len(b) > 0 {
			most = max(most, substitute(a[0], b[0])+best(a[1:], b[1:]))
		}
		if len(a) > 1 && len(b) > 0 {
			most = max(most, expand(b[0], a[0], a[1])+best(a[2:], b[1:]))
		}
		if len(a) > 0 && len(b) > 1 {
			most = max(most, expand(a[0], b[0], b[1])+best(a[1:], b[2:]))
		}
		return most
	}
	rapid.Check(t, func(t *rapid.T) {
		row := func(name string) []segment {
			return segmentsOf(string(rapid.SliceOfN(rapid.SampledFrom(letters), 0, 4).Draw(t, name)))
		}
		a, b := row("a"), row("b")
		want := 0.0
		for i := range a {
			for j := range b {
				want = max(want, best(a[i:], b[j:]))
			}
		}
		if got := score(a, b); math.Abs(got-want) > 1e-9 {
			t.Fatalf("%g, want %g", got, want)
		}
		if got, back := likeness(a, b), likeness(b, a); got < 0 || got > 1+1e-12 || math.Abs(got-back) > 1e-12 {
			t.Fatalf("likeness %g one way and %g the other", got, back)
		}
	})
}

// fromEngine is the letters of a speech engine in ours: stress and length left out, and diphthongs as two sounds.
var fromEngine = strings.NewReplacer("ˈ", "", "ˌ", "", "eɪ", "ej", "aɪ", "aj", "əʊ", "ow", "ɔɪ", "oj", "aʊ", "aw", "iː", "ij", "uː", "uw", "ɜː", "ə", "ɔː", "ɔ", "ɑː", "a", "eə", "ɛ", "ɹiə", "ɹijə", "iə", "i", "ɐ", "ə", "ɪ", "i", "ʌ", "ə", "ʊ", "u", "ɡ", "g")

// spokenWords are words of cockpits, and how espeak-ng speaks them.
func spokenWords(t *testing.T) (words, ipa []string) {
	t.Helper()
	data, err := os.ReadFile("testdata/pronounced.txt")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(data)) {
		word, sounds, ok := strings.Cut(strings.TrimSpace(line), "\t")
		if ok && word != "pitot" { // which the engine reads as it is spelt
			words, ipa = append(words, word), append(ipa, fromEngine.Replace(sounds))
		}
	}
	if len(words) < 100 {
		t.Fatalf("%d words", len(words))
	}
	return words, ipa
}

// Words of cockpits are spoken nearly as espeak-ng speaks them, by rules that are not ours.
func TestSpellingAgainstAnEngine(t *testing.T) {
	words, ipa := spokenWords(t)
	sum := 0.0
	for i, word := range words {
		got := likeness(segmentsOf(Pronounce(word)), segmentsOf(ipa[i]))
		sum += got
		if got < 0.65 {
			t.Errorf("%s: %s, and by the engine %s: %.2f alike", word, Pronounce(word), ipa[i], got)
		}
	}
	mean := sum / float64(len(words))
	t.Logf("%d words, %.3f alike in the mean", len(words), mean)
	if mean < 0.9 {
		t.Errorf("%.3f alike in the mean", mean)
	}
}

// Which words are alike is the same by our rules and by the engine's pronunciation: over all pairs the two go together, and nothing is
// called alike that by the engine is far from it.
func TestAlikeByTheEngineToo(t *testing.T) {
	words, ipa := spokenWords(t)
	var ours, theirs []float64
	for i := range words {
		for k := range i {
			a, b := Likeness(words[i], words[k]), likeness(segmentsOf(ipa[i]), segmentsOf(ipa[k]))
			ours, theirs = append(ours, a), append(theirs, b)
			if a > 0.8 && b < 0.65 || b > 0.95 && a < 0.8 {
				t.Errorf("%s and %s: %.2f by the rules, %.2f by the engine", words[i], words[k], a, b)
			}
		}
	}
	r := correlation(ours, theirs)
	t.Logf("%d pairs, correlation %.3f", len(ours), r)
	if r < 0.9 {
		t.Errorf("correlation %.3f over %d pairs", r, len(ours))
	}
}

func correlation(x, y []float64) float64 {
	mean := func(v []float64) float64 {
		sum := 0.0
		for _, e := range v {
			sum += e
		}
		return sum / float64(len(v))
	}
	mx, my := mean(x), mean(y)
	var xy, xx, yy float64
	for i := range x {
		xy, xx, yy = xy+(x[i]-mx)*(y[i]-my), xx+(x[i]-mx)*(x[i]-mx), yy+(y[i]-my)*(y[i]-my)
	}
	return xy / math.Sqrt(xx*yy)
}

// Letters that are taken for each other when they are heard, and those that are not: the two sets of Rabstejnek, "Avoiding alliterative
// confusion", which gives counts of what was heard for what; but for z, which is no zee here. M and N are a set of their own there, and so are A, J and K.
func TestLettersThatAreConfused(t *testing.T) {
	confused, apart := strings.Split("bcdegptv", ""), strings.Split("fhlqrwy", "")
	pairs := func(set []string) (list []float64) {
		for i := range set {
			for k := range i {
				list = append(list, Likeness(set[i], set[k]))
			}
		}
		slices.Sort(list)
		return list
	}
	near, far := pairs(confused), pairs(apart)
	if near[len(near)/2] <= far[len(far)-1] {
		t.Errorf("confused: %.2f in the middle; apart: %.2f at the most", near[len(near)/2], far[len(far)-1])
	}
	t.Logf("confused: %.2f to %.2f; apart: %.2f to %.2f", near[0], near[len(near)-1], far[0], far[len(far)-1])
	for _, pair := range []string{"mn", "bd", "bp", "pt", "dt", "fs"} {
		if got := Likeness(pair[:1], pair[1:]); got < 0.8 {
			t.Errorf("%s: %.2f", pair, got)
		}
	}
}

// Nothing that can be written makes it panic, or is alike by more than 1.
func TestAnyText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.String().Draw(t, "a"), rapid.StringMatching(`[a-zA-Z0-9 '-]{0,30}`).Draw(t, "b")
		if got := Likeness(a, b); math.IsNaN(got) || got < 0 || got > 1+1e-12 {
			t.Fatalf("%q and %q: %g", a, b, got)
		}
		if got := Likeness(b, b); got != 0 && math.Abs(got-1) > 1e-12 {
			t.Fatalf("%q with itself: %g", b, got)
		}
	})
}
