package tone

import (
	"cmp"
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/dsp/window"

	"hornlark/audio"
	"hornlark/audio/voice"
)

// alerts are the tones that an aircraft gives; the others are the trainer's own.
var alerts = []string{"low-nr", "high-nr", "engine-out", "fire", "gong", "caution", "advisory", "call"}

// together are the alerts that can sound at the same time.
var together = []string{"low-nr", "engine-out", "fire", "gong", "caution", "high-nr"}

func must(t *testing.T, name string) []float64 {
	t.Helper()
	s, err := Named(name)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, len(s.PCM))
	for i, v := range s.PCM {
		x[i] = float64(v) / 32768
	}
	return x
}

// line is a peak of a spectrum.
type line struct{ hz, db float64 }

// lines gives the peaks of the spectrum of x that are within range dB of the highest.
func lines(x []float64, span float64) []line {
	w := window.BlackmanHarris(slices.Clone(x))
	const padded = 1 << 16
	spectrum := fourier.NewFFT(padded).Coefficients(nil, append(w, make([]float64, padded-len(w))...))
	db := make([]float64, len(spectrum))
	for i, c := range spectrum {
		db[i] = 20 * math.Log10(cmplx.Abs(c)+1e-12)
	}
	top := slices.Max(db)
	var found []line
	for i := 1; i < len(db)-1; i++ {
		if db[i] > db[i-1] && db[i] >= db[i+1] && db[i] > top-span {
			found = append(found, line{float64(i) * audio.Rate / padded, db[i]})
		}
	}
	return found
}

// moments gives stretches of a tone, each short enough for a glide to stand still in it and wholly inside a note.
func moments(t *testing.T, name string) [][]float64 {
	t.Helper()
	x := must(t, name)
	set, err := builtIn()
	if err != nil {
		t.Fatal(err)
	}
	const length = audio.Rate * 6 / 100
	var m [][]float64
	for _, n := range set.book.Tones[name].Notes {
		from := int(audio.Frames(n.At + n.For/2))
		if n.Decay > 0 {
			from = int(audio.Frames(n.At+n.Rise)) + length/2
		}
		from = max(from-length/2, 0)
		m = append(m, x[from:from+length])
	}
	return m
}

// TestSpectra holds the rendered tones to the published ranges by Fourier transform.
func TestSpectra(t *testing.T) {
	for _, name := range alerts {
		for i, x := range moments(t, name) {
			found := lines(x, 20)
			fundamental := found[0]
			// IEC 60601-1-8, table 4: fundamental 150 to 1000 Hz.
			if fundamental.hz < 150 || fundamental.hz > 1000 {
				t.Errorf("%s, note %d: fundamental at %.0f Hz, want 150 to 1000", name, i, fundamental.hz)
			}
			// The same: four or more in 300 to 4000 Hz, within 15 dB of the fundamental.
			carrying := 0
			for _, l := range found {
				if l.hz >= 300 && l.hz <= 4000 && math.Abs(l.db-fundamental.db) <= 15 {
					carrying++
				}
				// MIL-STD-1472E 5.3.4.1: 200 to 5000 Hz; the fundamental may lie lower.
				if l.hz > 5000 {
					t.Errorf("%s, note %d: a partial at %.0f Hz, want none above 5000", name, i, l.hz)
				}
			}
			if carrying < 4 {
				t.Errorf("%s, note %d: %d partials of %v carry, want 4", name, i, carrying, found)
			}
			// NUREG-0700 rev. 2, 1.3.11-27: what sounds together is 20 % apart, of the frequency between.
			for k := 1; k < len(found); k++ {
				a, b := found[k-1].hz, found[k].hz
				if (b-a)/((a+b)/2) < 0.195 { // half a per cent for the resolution of the transform
					t.Errorf("%s, note %d: partials at %.0f and %.0f Hz are %.1f %% apart, want 20", name, i, a, b, 200*(b-a)/(a+b))
				}
			}
		}
	}
}

// TestAlertsThatCanMeetAreApart looks at the fundamentals, note by note and at both ends of a glide.
func TestAlertsThatCanMeetAreApart(t *testing.T) {
	set, err := builtIn()
	if err != nil {
		t.Fatal(err)
	}
	pitches := func(name string) (p []float64) {
		for _, n := range set.book.Tones[name].Notes {
			p = append(p, n.Pitch)
			if n.To != 0 {
				p = append(p, n.To)
			}
		}
		return p
	}
	for i, a := range together {
		for _, b := range together[:i] {
			for _, f := range pitches(a) {
				for _, g := range pitches(b) {
					if apart := math.Abs(f-g) / ((f + g) / 2); apart < 0.1995 { // NUREG-0700 rev. 2, 1.3.11-27
						t.Errorf("%s at %g Hz and %s at %g Hz are %.1f %% apart, want 20", a, f, b, g, 100*apart)
					}
				}
			}
		}
	}
}

// TestThePublicAlertIsNeverMade: 853 and 960 Hz together are for public warnings alone (47 CFR 10.520).
func TestThePublicAlertIsNeverMade(t *testing.T) {
	near := func(found []line, hz float64) bool {
		return slices.ContainsFunc(found, func(l line) bool { return math.Abs(l.hz-hz) < 0.02*hz })
	}
	all := map[string][][]float64{}
	for _, name := range Names() {
		all[name] = moments(t, name)
		for i, x := range all[name] {
			if found := lines(x, 40); near(found, 853) && near(found, 960) {
				t.Errorf("%s, note %d holds both", name, i)
			}
		}
	}
	for a := range all {
		for b := range all {
			for _, x := range all[a] {
				for _, y := range all[b] {
					if near(lines(x, 10), 853) && near(lines(y, 10), 960) {
						t.Errorf("%s and %s together hold both", a, b)
					}
				}
			}
		}
	}
}

// envelope gives the amplitude of the partial of x at hz, frame by frame, seen through 16 ms.
func envelope(x []float64, hz float64) []float64 {
	hann := window.Hann(slices.Repeat([]float64{1}, audio.Rate*16/1000))
	e := make([]float64, len(x)-len(hann))
	for i := range e {
		var sum complex128
		for k, w := range hann {
			sum += complex(w*x[i+k], 0) * cmplx.Rect(1, -2*math.Pi*hz*float64(i+k)/audio.Rate)
		}
		e[i] = cmplx.Abs(sum)
	}
	return e
}

// TestOnsetsNeitherClickNorStartle: 20 to 30 ms from 10 to 90 %. R. D. Patterson, CAA Paper 82017 (1982), from memory;
// the same range in AMC 25.1322, from memory.
func TestOnsetsNeitherClickNorStartle(t *testing.T) {
	set, err := builtIn()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range Names() {
		for i, n := range set.book.Tones[name].Notes {
			for what, ramp := range map[string]time.Duration{"rise": n.Rise, "fall": n.Fall} {
				if ramp < 20*time.Millisecond || ramp > 30*time.Millisecond {
					t.Errorf("%s, note %d: %s of %v, want 20 to 30 ms", name, i, what, ramp)
				}
			}
		}
		// And from the samples of the first onset: its strongest partial, after as much silence as the window is long.
		n := set.book.Tones[name].Notes[0]
		x := must(t, name)[:audio.Frames(n.Rise+25*time.Millisecond)]
		found := lines(x, 20)
		strongest := slices.MaxFunc(found, func(a, b line) int { return cmp.Compare(a.db, b.db) })
		e := envelope(append(make([]float64, audio.Rate*16/1000), x...), strongest.hz)
		top := slices.Max(e)
		t10 := slices.IndexFunc(e, func(v float64) bool { return v >= 0.1*top })
		t90 := slices.IndexFunc(e, func(v float64) bool { return v >= 0.9*top })
		if rise := audio.Frame(t90 - t10).Duration(); rise < 20*time.Millisecond || rise > 30*time.Millisecond {
			t.Errorf("%s: %.0f Hz rises from 10 to 90 %% in %v, want 20 to 30 ms", name, strongest.hz, rise)
		}
	}
}

// TestLengths: half a second at least, to be heard as what it is (MIL-STD-1472E 5.3.4.3.3).
func TestLengths(t *testing.T) {
	for _, name := range Names() {
		if d := (audio.Frame(len(must(t, name)))).Duration(); d < 500*time.Millisecond {
			t.Errorf("%s lasts %v, want 0.5 s", name, d)
		}
	}
}

// TestFewAreKnownByEarAlone: at most four (MIL-STD-1472E 5.3.4.3.1); what sounds once comes with a light or with words.
func TestFewAreKnownByEarAlone(t *testing.T) {
	var lasting []string
	for _, name := range Names() {
		if Loops(name) {
			lasting = append(lasting, name)
		}
	}
	if len(lasting) > 4 {
		t.Errorf("%d alerts last: %v, want 4 at most", len(lasting), lasting)
	}
}

// picture is how a tone sounds over its first half second: the level in third octaves, 20 ms by 20 ms, in dB below the
// loudest. A loop goes on from its beginning.
func picture(x []float64) [][]float64 {
	const (
		length = audio.Rate / 2
		slice  = audio.Rate / 50
		floor  = -40.0
	)
	var bands []float64 // upper edges
	for f := 141.0; f < 5700; f *= math.Pow(2, 1.0/3) {
		bands = append(bands, f)
	}
	fft := fourier.NewFFT(2 * slice)
	var p [][]float64
	top := math.Inf(-1)
	for from := 0; from+2*slice <= length+slice; from += slice {
		part := make([]float64, 2*slice)
		for i := range part {
			part[i] = x[(from+i)%len(x)]
		}
		row := make([]float64, len(bands))
		for i, c := range fft.Coefficients(nil, window.Hann(part)) {
			hz := float64(i) * audio.Rate / (2 * slice)
			if b := slices.IndexFunc(bands, func(edge float64) bool { return hz < edge }); b >= 0 {
				row[b] += real(c)*real(c) + imag(c)*imag(c)
			}
		}
		for b := range row {
			row[b] = 10 * math.Log10(row[b]+1e-12)
			top = max(top, row[b])
		}
		p = append(p, row)
	}
	for _, row := range p {
		for b := range row {
			row[b] = max(row[b]-top, floor)
		}
	}
	return p
}

// distance is the root mean square difference of two pictures, in dB.
func distance(a, b [][]float64) float64 {
	var sum, n float64
	for i := range a {
		for k := range a[i] {
			d := a[i][k] - b[i][k]
			sum, n = sum+d*d, n+1
		}
	}
	return math.Sqrt(sum / n)
}

// slower gives x played at a speed below 1: lower and longer.
func slower(x []float64, speed float64) []float64 {
	y := make([]float64, int(float64(len(x))/speed))
	for i := range y {
		at := float64(i) * speed
		k := int(at)
		y[i] = x[k] + (at-float64(k))*(x[min(k+1, len(x)-1)]-x[k])
	}
	return y
}

// TestNoTwoAlertsSoundAlike compares the first half seconds (MIL-STD-1472E 5.3.4.3.3) of every pair. The floor is taken
// from the alerts themselves: a pair has to be further apart than any alert is from itself played 3 % (half a
// semitone) slower or begun 10 ms later, by half as much again.
func TestNoTwoAlertsSoundAlike(t *testing.T) {
	var self float64
	pictures := map[string][][]float64{}
	for _, name := range alerts {
		x := must(t, name)
		pictures[name] = picture(x)
		later := append(make([]float64, audio.Rate/100), x...)
		self = max(self, distance(pictures[name], picture(slower(x, 0.97))), distance(pictures[name], picture(later)))
	}
	floor := 1.5 * self
	least, pair := math.Inf(1), ""
	for i, a := range alerts {
		for _, b := range alerts[:i] {
			d := distance(pictures[a], pictures[b])
			if d < least {
				least, pair = d, a+" and "+b
			}
			if d < floor {
				t.Errorf("%s and %s are %.1f dB apart, want %.1f", a, b, d, floor)
			}
		}
	}
	t.Logf("nearest pair: %s, %.1f dB apart; floor %.1f dB", pair, least, floor)
}

// TestLoopsHaveNoSeam looks for a step where the end meets the beginning.
func TestLoopsHaveNoSeam(t *testing.T) {
	for _, name := range Names() {
		if !Loops(name) {
			continue
		}
		x := must(t, name)
		var step float64
		for i := 1; i < len(x); i++ {
			step = max(step, math.Abs(x[i]-x[i-1]))
		}
		seam := math.Abs(x[0] - x[len(x)-1])
		if seam > step/20 {
			t.Errorf("%s: a step of %.5f at the seam, %.5f elsewhere", name, seam, step)
		}
	}
}

// TestLevels: warnings are the loudest and a step of 3 dB lies between the tiers.
func TestLevels(t *testing.T) {
	set, err := builtIn()
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]float64{"low-nr": -6, "high-nr": -6, "engine-out": -6, "fire": -6, "gong": -6, "caution": -9, "advisory": -12} {
		var peak float64
		for _, v := range must(t, name) {
			peak = max(peak, math.Abs(v))
		}
		if db := 20 * math.Log10(peak); math.Abs(db-want) > 0.05 || set.book.Tones[name].Level != want {
			t.Errorf("%s: peak %.2f dB, want %.2f", name, db, want)
		}
	}
}

// TestWarningsStandAboveSpeech: a danger signal is to be 15 dB(A) above what else is heard (ISO 7731:2003). Loudness by
// BS.1770 stands in for the A-weighted level; speech is at its own and ducked.
func TestWarningsStandAboveSpeech(t *testing.T) {
	const ducked = voice.LoudnessLUFS - audio.DuckDB
	for _, name := range []string{"low-nr", "high-nr", "engine-out", "fire", "gong"} {
		x := must(t, name)
		heard := x[:audio.Rate/2] // of a stroke, that in which it has to be known
		if Loops(name) {
			heard = slices.Concat(x, x, x)
		}
		over := voice.Loudness(heard) - ducked
		t.Logf("%s: %.1f dB above ducked speech", name, over)
		if over < 15 {
			t.Errorf("%s: %.1f dB above ducked speech, want 15", name, over)
		}
	}
}

func TestUnknownToneNamesTheOthers(t *testing.T) {
	if _, err := Named("klaxon"); err == nil || !strings.Contains(err.Error(), "low-nr") {
		t.Errorf("error %v", err)
	}
}

func TestBadFigures(t *testing.T) {
	const good = "timbres: {x: [{ratio: 1, gain: 0}]}\ntones:\n  a: {timbre: x, level: -10, length: 1s, notes: [{at: 0s, for: 1s, pitch: 400, rise: 20ms, fall: 20ms}]}\n"
	if _, err := load([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct{ old, new, want string }{
		{"timbre: x", "timbre: y", "no timbre"},
		{"level: -10", "level: 3", "level 3 is out of range"},
		{"level: -10", "level: .nan", "out of range"},
		{"length: 1s", "length: 1h", "length 1h0m0s"},
		{"for: 1s", "for: 2s", "outside the tone"},
		{"pitch: 400", "pitch: 40000", "out of range"},
		{"pitch: 400", "pitch: .nan", "out of range"},
		{"rise: 20ms", "rise: 2s", "do not fit"},
		{"rise: 20ms", "ryse: 20ms", "ryse"},
		{"notes: [{at: 0s, for: 1s, pitch: 400, rise: 20ms, fall: 20ms}]", "notes: []", "0 notes"},
		{"ratio: 1", "ratio: .inf", "ratio"},
		{good, "", "0 tones"},
		{good, "\x00\xff", "tones.yaml"},
	} {
		_, err := load([]byte(strings.Replace(good, test.old, test.new, 1)))
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%q for %q: error %v, want one with %q", test.new, test.old, err, test.want)
		}
	}
}

func ExampleNames() {
	fmt.Println(strings.Join(Names(), " "))
	// Output: advisory begin call caution end engine-out fire gong high-nr low-nr
}
