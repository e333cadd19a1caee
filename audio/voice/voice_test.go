package voice

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"hornlark/audio"
	"hornlark/sounds"
)

func sine(hz, amplitude float64, frames, rate int) []float64 {
	x := make([]float64, frames)
	for i := range x {
		x[i] = amplitude * math.Sin(2*math.Pi*hz*float64(i)/float64(rate))
	}
	return x
}

func need(t *testing.T, programs ...string) {
	t.Helper()
	for _, p := range programs {
		if _, err := exec.LookPath(p); err != nil {
			t.Skipf("%s is not installed (Debian: apt-get install flite lame ffmpeg)", p)
		}
	}
}

// TestLoudnessOfTheStandardTone: a sine of 997 Hz at full scale in one channel reads -3.01 LUFS (ITU-R BS.1770-4,
// annex 1).
func TestLoudnessOfTheStandardTone(t *testing.T) {
	for _, db := range []float64{0, -20, -40} {
		x := sine(997, math.Pow(10, db/20), 5*audio.Rate, audio.Rate)
		if got, want := Loudness(x), -3.01+db; math.Abs(got-want) > 0.02 {
			t.Errorf("%g dB: %.3f LUFS, want %.2f", db, got, want)
		}
	}
	if got := Loudness(make([]float64, audio.Rate)); !math.IsInf(got, -1) {
		t.Errorf("silence: %g LUFS", got)
	}
}

// meter measures with ffmpeg's ebur128, which we did not write.
func meter(t *testing.T, x []float64) float64 {
	t.Helper()
	path := filepath.Join(t.TempDir(), "x.wav")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := audio.NewRender(f, 0)
	if err != nil {
		t.Fatal(err)
	}
	pcm := make([]int16, len(x))
	for i, v := range x {
		pcm[i] = int16(math.Round(v * 32767))
	}
	r.Play(audio.Cue{Sound: audio.Sound{PCM: pcm}})
	if err := errors.Join(r.AdvanceTo(audio.Frame(len(x)).Duration()), r.Close()); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("ffmpeg", "-hide_banner", "-nostats", "-i", path, "-filter_complex", "ebur128", "-f", "null", "-").CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	all := regexp.MustCompile(`I:\s+(-?[\d.]+) LUFS`).FindAllSubmatch(out, -1)
	value, err := strconv.ParseFloat(string(all[len(all)-1][1]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return value
}

func TestLoudnessAgreesWithAnotherMeter(t *testing.T) {
	need(t, "ffmpeg")
	rng := rand.New(rand.NewPCG(1, 2))
	noise := make([]float64, 6*audio.Rate)
	for i := range noise {
		noise[i] = 0.3 * (2*rng.Float64() - 1)
		if i > 2*audio.Rate && i < 4*audio.Rate {
			noise[i] *= 0.002 // a pause, which the gate leaves out
		}
	}
	for name, x := range map[string][]float64{
		"tone":             sine(400, 0.2, 4*audio.Rate, audio.Rate),
		"high tone":        sine(5000, 0.2, 4*audio.Rate, audio.Rate),
		"noise with pause": noise,
	} {
		if ours, theirs := Loudness(x), meter(t, x); math.Abs(ours-theirs) > 0.1 {
			t.Errorf("%s: %.2f LUFS, the other meter has %.2f", name, ours, theirs)
		}
	}
}

func TestTrimIsExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		before, length, after := rng.IntN(30000), 2000+rng.IntN(30000), rng.IntN(30000)
		x := make([]float64, before+length+after)
		for i := range x {
			x[i] = 1e-4 * (2*rng.Float64() - 1) // the hiss of an engine
		}
		copy(x[before:], sine(300, 0.5, length, audio.Rate))
		got := trim(x)
		// A sine passes the threshold within a few samples of its ends.
		if d := len(got) - length - min(edge, before) - min(edge, after); d < -16 || d > 0 {
			t.Errorf("silence of %d and %d about %d frames: %d are left", before, after, length, len(got))
		}
	}
	if got := trim(make([]float64, 100)); got != nil {
		t.Errorf("silence leaves %d samples", len(got))
	}
}

// TestResampleKeepsWhatBothRatesCarry compares with the sine that should come out.
func TestResampleKeepsWhatBothRatesCarry(t *testing.T) {
	for _, rate := range []int{8000, 16000, 22050, 44100, 96000} {
		for _, hz := range []float64{100, 1000, 3400} {
			x := sine(hz, 0.5, rate, rate)
			got, want := resample(x, rate, audio.Rate), sine(hz, 0.5, audio.Rate, audio.Rate)
			if d := len(got) - len(want); d < -1 || d > 1 {
				t.Fatalf("%d Hz: a second has %d frames", rate, len(got))
			}
			var signal, fault float64
			for i := 5000; i < 40000; i++ { // away from the ends, where the sine is cut off
				d := got[i] - want[i]
				signal, fault = signal+want[i]*want[i], fault+d*d
			}
			if snr := 10 * math.Log10(signal/fault); snr < 70 {
				t.Errorf("%d Hz to %d, a sine of %.0f Hz: signal to noise %.1f dB, want 70", rate, audio.Rate, hz, snr)
			}
		}
	}
	// What the new rate cannot carry has to go: 40 kHz from 96 kHz.
	x := resample(sine(40000, 0.5, 96000, 96000), 96000, audio.Rate)
	if p := 20 * math.Log10(peak(x[5000:40000])/0.5); p > -60 {
		t.Errorf("a tone above half the rate is left at %.1f dB, want -60", p)
	}
}

func TestFinishedClipsAreAlike(t *testing.T) {
	for _, rate := range []int{8000, 16000, 22050, 48000} {
		for _, amplitude := range []float64{0.01, 0.2, 1} {
			x := append(append(make([]float64, rate/3), sine(500, amplitude, 2*rate, rate)...), make([]float64, rate)...)
			s, err := finish(x, rate)
			if err != nil {
				t.Fatal(err)
			}
			y := make([]float64, len(s.PCM))
			for i, v := range s.PCM {
				y[i] = float64(v) / 32768
			}
			if l := Loudness(y); math.Abs(l-LoudnessLUFS) > 0.1 {
				t.Errorf("%d Hz at %g: %.2f LUFS, want %.0f", rate, amplitude, l, LoudnessLUFS)
			}
			if d := s.Duration() - 2*time.Second; d.Abs() > 10*time.Millisecond {
				t.Errorf("%d Hz at %g: lasts %v, want 2 s", rate, amplitude, s.Duration())
			}
		}
	}
	for _, x := range [][]float64{nil, make([]float64, 48000), {1}} {
		if _, err := finish(x, 48000); err == nil {
			t.Errorf("%d samples of nothing make a clip", len(x))
		}
	}
}

func mustLexicon(t testing.TB, path string) *Lexicon {
	t.Helper()
	l, err := LoadLexicon(sounds.Files, path)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestSpeak(t *testing.T) {
	l := mustLexicon(t, "")
	for _, test := range []struct{ written, spoken string }{
		// Digit by digit, with "decimal": ICAO Annex 10 volume II, 5.2.1.4 (from memory).
		{"24.5 V", "two four decimal five volts"},
		{"118.700", "one one eight decimal seven zero zero"},
		{"TOT 710 °C", "T O T seven one zero degrees"},
		{"Heading 090°", "Heading zero niner zero degrees"},
		// Whole hundreds and thousands of height as such (same source).
		{"1500 ft", "one thousand five hundred feet"},
		{"10000 ft", "one zero thousand feet"},
		{"300 ft", "three hundred feet"},
		{"00 ft", "zero zero feet"}, {"000 ft", "zero zero zero feet"}, {"0 ft", "zero feet"}, {"0300 ft", "zero three zero zero feet"},
		{"450 ft", "four five zero feet"},
		// Our own conventions.
		{"N1 at 68%", "N one at six eight percent"},
		{"NR above 95 %", "N R above niner five percent"},
		{"FADEC 2", "fay deck two"},
		{"Engines 1 and 2", "Engines one and two"},
		{"70-75 %", "seven zero to seven five percent"},
		{"70–75 %", "seven zero to seven five percent"},
		{"-5 °C", "minus five degrees"},
		{"1 bar", "one bar"}, {"1 V", "one volt"}, {"2 V", "two volts"},
		{"5 s", "five seconds"},
		{"5 steps", "five steps"}, // not seconds and "teps"
		{"ON", "on"}, {"BOTH ON", "both on"},
		// A capital beside others is a letter, and alone a side.
		{"Rotor R P M", "Rotor R P M"}, {"T O T L", "T O T L"}, {"Pitot L", "Pitot left"}, {"Doors L and R", "Doors left and right"},
		{"XPDR", "X P D R"}, {"A2", "A two"},
		{"Skerry Sound", "Skerry Sound"},
		{"Battery: on", "Battery, on"},
		{"Wind/tail clear", "Wind tail clear"},
		{"self-test", "self test"},
		{"  Guards ,  closed.  ", "Guards, closed."},
		{"(crew) clear?", "crew, clear?"},
		{"12:30", "one two three zero"},
		{"captain's side", "captain's side"},
		{"80", "eight, zero"}, {"180", "one eight zero"}, {" All closed ", "All, closed"}, {"All closed, lit", "All closed, lit"},
		{"", ""}, {"…", ""}, {"\x00\x1b[31m", "three one metres"},
	} {
		if got := l.Speak(test.written); got != test.spoken {
			t.Errorf("%q is spoken %q, want %q", test.written, got, test.spoken)
		}
	}
}

// TestSpeakLeavesNoFigures: whatever comes in, an engine never has to guess at a digit.
func TestSpeakLeavesNoFigures(t *testing.T) {
	l := mustLexicon(t, "")
	rng := rand.New(rand.NewPCG(5, 6))
	letters := []rune("aN1R2.5:-–% °CVbarft,;()/+\x00é世\n")
	for range 20000 {
		text := make([]rune, rng.IntN(20))
		for i := range text {
			text[i] = letters[rng.IntN(len(letters))]
		}
		if got := l.Speak(string(text)); strings.ContainsAny(got, "0123456789%°\n\x00") {
			t.Fatalf("%q is spoken %q", string(text), got)
		}
	}
	if got := l.Speak(strings.Repeat("on ", 10000)); len(got) > 3*maxTextRunes {
		t.Errorf("a text without end is spoken in %d bytes", len(got))
	}
}

func TestAnInstructorsLexicon(t *testing.T) {
	path := filepath.Join(t.TempDir(), "words.yaml")
	write := func(text string) {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write("words: {NR: rotor speed, Skerry: skair ee}\nphrases: {NR up: \"rotor, up\"}\nunits: {psi: [P S I, P S I]}\ndigits: [zero, wun, too, tree, fower, fife, six, seven, ait, niner]\n")
	l := mustLexicon(t, path)
	if got, want := l.Speak("NR 50 psi, SKERRY, TOT"), "rotor speed fife zero P S I, skair ee, T O T"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	for written, want := range map[string]string{"NR up": "rotor, up", "All off": "All, off"} {
		if got := l.Speak(written); got != want {
			t.Errorf("%q is spoken %q, want %q", written, got, want)
		}
	}
	for _, test := range []struct{ text, want string }{
		{"wrods: {}", "wrods"}, {"digits: [one]", "write ten"}, {"words: [a]", "words.yaml"}, {"\x00", "words.yaml"},
		{"words: {a: *b}", "words.yaml"},
	} {
		write(test.text)
		if _, err := LoadLexicon(sounds.Files, path); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%q: error %v, want one with %q", test.text, err, test.want)
		}
	}
	if _, err := LoadLexicon(sounds.Files, filepath.Join(t.TempDir(), "none")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
	write(strings.Repeat("#", maxLexiconBytes+1))
	if _, err := LoadLexicon(sounds.Files, path); err == nil || !strings.Contains(err.Error(), "larger") {
		t.Errorf("a huge file: %v", err)
	}
}

// noClips is the embedded folder without its clips.
func noClips(t *testing.T) fs.FS {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{sounds.Lexicon, sounds.Tones} {
		data, err := sounds.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, sounds.Manifest), []byte("[]"), 0o600); err != nil {
		t.Fatal(err)
	}
	return os.DirFS(dir)
}

func mustOpen(t *testing.T, options Options) *Library {
	t.Helper()
	if options.Files == nil {
		options.Files = noClips(t)
	}
	if options.CacheDir == "" {
		options.CacheDir = t.TempDir()
	}
	l, err := Open(options)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestWithoutASpeechEngine(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	l := mustOpen(t, Options{})
	if n := l.Notice(); n != "" {
		t.Errorf("notice %q before anything was wanted", n)
	}
	if err := l.Prepare(context.Background(), []Phrase{{Challenger, "Battery"}, {Responder, "On"}}, nil); err != nil {
		t.Fatal(err)
	}
	if _, err := l.Clip(Challenger, "Battery"); !errors.Is(err, ErrNoVoice) {
		t.Errorf("Clip: %v", err)
	}
	if n := l.Notice(); !strings.HasPrefix(n, "No voice for 2 phrases") || strings.Contains(n, "\n") {
		t.Errorf("notice %q", n)
	}
	if d := l.Duration(Challenger, "one two three four five six seven eight nine ten eleven twelve thirteen"); d != 5*time.Second {
		t.Errorf("13 words at 156 a minute take %v, want 5 s", d)
	}
}

func TestOpenRefuses(t *testing.T) {
	for want, options := range map[string]Options{
		"espeak-ng": {Engine: "parrot"},
		"0.5 to 2":  {Speed: 9},
	} {
		options.Files = noClips(t)
		if _, err := Open(options); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("error %v, want one with %q", err, want)
		}
	}
}

// stubEngine puts a program named flite on the path that counts its runs and does what body says; $out is the file to
// write, $ok a sound.
func stubEngine(t *testing.T, body string) (runs func() int) {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("the stub is a shell script")
	}
	dir := t.TempDir()
	f, err := os.Create(filepath.Join(dir, "ok.wav"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r, err := audio.NewRender(f, 0)
	if err != nil {
		t.Fatal(err)
	}
	pcm := make([]int16, audio.Rate)
	for i, v := range sine(500, 8000, len(pcm), audio.Rate) {
		pcm[i] = int16(v)
	}
	r.Play(audio.Cue{Due: 100 * time.Millisecond, Sound: audio.Sound{PCM: pcm}})
	if err := errors.Join(r.AdvanceTo(2*time.Second), r.Close()); err != nil {
		t.Fatal(err)
	}
	script := fmt.Sprintf("#!/bin/sh\necho run >>%s/runs\nok=%s/ok.wav\nfor out; do :; done\n%s\n", dir, dir, body)
	if err := os.WriteFile(filepath.Join(dir, "flite"), []byte(script), 0o700); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir+":/usr/bin:/bin")
	return func() int {
		data, _ := os.ReadFile(filepath.Join(dir, "runs"))
		return bytes.Count(data, []byte("\n"))
	}
}

func TestClipsAreRenderedOnceAndKept(t *testing.T) {
	runs := stubEngine(t, `cp "$ok" "$out"`)
	dir := t.TempDir()
	l := mustOpen(t, Options{CacheDir: dir, Engine: "flite"})
	var all sync.WaitGroup
	for range 20 {
		all.Go(func() {
			s, err := l.Clip(Challenger, "Battery")
			if err != nil || (s.Duration()-time.Second).Abs() > 5*time.Millisecond {
				t.Errorf("a clip of %v, %v; want 1 s", s.Duration(), err)
			}
		})
	}
	all.Wait()
	if n := runs(); n != 1 {
		t.Errorf("the engine ran %d times for one phrase", n)
	}
	again := mustOpen(t, Options{CacheDir: dir, Engine: "flite"})
	if _, err := again.Clip(Challenger, "Battery"); err != nil {
		t.Error(err)
	}
	if n := runs(); n != 1 {
		t.Errorf("the engine ran %d times although the clip was kept", n)
	}
	for _, other := range []struct {
		voice string
		speed float64
	}{{Responder, 1}, {Challenger, 1.5}} {
		l := mustOpen(t, Options{CacheDir: dir, Engine: "flite", Speed: other.speed})
		if _, err := l.Clip(other.voice, "Battery"); err != nil {
			t.Error(err)
		}
	}
	if n := runs(); n != 3 {
		t.Errorf("the engine ran %d times for three kinds of clip", n)
	}
	left, err := filepath.Glob(filepath.Join(dir, ".hornlark-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestADamagedCacheIsRepaired(t *testing.T) {
	runs := stubEngine(t, `cp "$ok" "$out"`)
	dir := t.TempDir()
	want, err := mustOpen(t, Options{CacheDir: dir, Engine: "flite"}).Clip(Crew, "Clear")
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(dir, "*.pcm.gz"))
	if err != nil || len(files) != 1 {
		t.Fatalf("files %v, %v", files, err)
	}
	whole, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	flipped := slices.Clone(whole)
	flipped[len(flipped)/2] ^= 0x10
	for name, data := range map[string][]byte{"empty": nil, "cut": whole[:len(whole)/2], "flipped": flipped, "other": []byte("not a clip")} {
		if err := os.WriteFile(files[0], data, 0o600); err != nil {
			t.Fatal(err)
		}
		before := runs()
		got, err := mustOpen(t, Options{CacheDir: dir, Engine: "flite"}).Clip(Crew, "Clear")
		if err != nil || !slices.Equal(got.PCM, want.PCM) {
			t.Errorf("%s: %d frames, %v", name, len(got.PCM), err)
		}
		if runs() != before+1 {
			t.Errorf("%s: the damaged clip was used", name)
		}
		if data, err := os.ReadFile(files[0]); err != nil || !bytes.Equal(data, whole) {
			t.Errorf("%s: the file was not repaired", name)
		}
	}
}

func TestACacheThatCannotBeWritten(t *testing.T) {
	stubEngine(t, `cp "$ok" "$out"`)
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := mustOpen(t, Options{CacheDir: filepath.Join(file, "below"), Engine: "flite"}).Clip(Crew, "Clear"); err != nil {
		t.Error(err)
	}
}

func TestAnEngineThatFails(t *testing.T) {
	for body, want := range map[string]string{
		`echo "no such voice" >&2; exit 1`: "no such voice",
		`exit 0`:                           "wrote no sound",
		`echo rubbish >"$out"`:             "flite",
		`head -c 30 "$ok" >"$out"`:         "flite",
	} {
		stubEngine(t, body)
		l := mustOpen(t, Options{Engine: "flite"})
		_, err := l.Clip(Crew, "Clear")
		if !errors.Is(err, ErrNoVoice) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: error %v, want one with %q", body, err, want)
		}
		if n := l.Notice(); !strings.Contains(n, want) || strings.Contains(n, "\n") {
			t.Errorf("%s: notice %q", body, n)
		}
	}
}

func TestPrepareCanBeStopped(t *testing.T) {
	stubEngine(t, `sleep 0.05; cp "$ok" "$out"`)
	l := mustOpen(t, Options{Engine: "flite"})
	var phrases []Phrase
	for i := range 1000 {
		phrases = append(phrases, Phrase{Crew, strings.Repeat("on ", i+1)})
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	last := 0
	err := l.Prepare(ctx, phrases, func(done, total int) {
		if done != last+1 || total != len(phrases) {
			t.Errorf("progress %d of %d after %d", done, total, last)
		}
		if last = done; done == 5 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) || last > 20 {
		t.Errorf("%d phrases, %v", last, err)
	}
}

// TestRenderAll makes a folder of clips with the real programs, and looks at it as a library does.
func TestRenderAll(t *testing.T) {
	need(t, "flite", "lame")
	dir := t.TempDir()
	lexicon, err := sounds.Files.ReadFile(sounds.Lexicon)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, sounds.Lexicon), lexicon, 0o600); err != nil {
		t.Fatal(err)
	}
	phrases := []Phrase{{Challenger, "Battery voltage, above 24 V"}, {Responder, "NR 101 %"}, {Crew, "Rotor area clear"}, {Responder, "On"}}
	made := func() map[string]string {
		t.Helper()
		if err := RenderAll(context.Background(), phrases, dir, nil); err != nil {
			t.Fatal(err)
		}
		all := map[string]string{}
		filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
			if !d.IsDir() {
				data, err := os.ReadFile(path)
				if err != nil {
					t.Fatal(err)
				}
				all[path] = sha(data)
			}
			return nil
		})
		return all
	}
	first := made()
	if len(first) != len(phrases)+2 {
		t.Fatalf("files %v", first)
	}

	t.Setenv("PATH", t.TempDir()) // from here on the library has no engine
	l := mustOpen(t, Options{Files: os.DirFS(dir)})
	for _, p := range phrases {
		s, err := l.Clip(p.Voice, p.Text)
		if err != nil {
			t.Errorf("%v: %v", p, err)
			continue
		}
		if d := l.Duration(p.Voice, p.Text); d != s.Duration() {
			t.Errorf("%v: lasts %v, the manifest says %v", p, s.Duration(), d)
		}
		checkClip(t, fmt.Sprint(p), s)
	}
	if l.Notice() != "" {
		t.Errorf("notice %q", l.Notice())
	}
	os.Setenv("PATH", "/usr/local/bin:/usr/bin:/bin")

	stamp := func(path string) time.Time {
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		return info.ModTime()
	}
	clip, _ := filepath.Glob(filepath.Join(dir, sounds.Clips, "*.mp3"))
	was := stamp(clip[0])
	if again := made(); fmt.Sprint(again) != fmt.Sprint(first) || stamp(clip[0]) != was {
		t.Error("a second run made something anew")
	}
	if err := os.WriteFile(clip[0], []byte("damaged"), 0o600); err != nil {
		t.Fatal(err)
	}
	if again := made(); fmt.Sprint(again) != fmt.Sprint(first) {
		t.Error("a damaged clip was not made anew, or not the same")
	}
	phrases = phrases[:2]
	if again := made(); len(again) != 4 {
		t.Errorf("stale clips are left: %v", again)
	}
}

// checkClip holds a clip to what every clip is brought to. The coder and what is cut off by its low pass cost a little.
func checkClip(t *testing.T, name string, s audio.Sound) {
	t.Helper()
	x := make([]float64, len(s.PCM))
	for i, v := range s.PCM {
		x[i] = float64(v) / 32768
	}
	if l := Loudness(x); math.Abs(l-LoudnessLUFS) > 1 && peak(x) < 0.45 {
		t.Errorf("%s: %.1f LUFS, want %.0f", name, l, LoudnessLUFS)
	}
	if p := peak(x); p > 0.6 {
		t.Errorf("%s: peak %.2f, want no more than the limiter leaves alone", name, p)
	}
	// Sound within the first and the last 15 ms: nothing but the onset before it is heard.
	for where, part := range map[string][]float64{"begins": x[:audio.Rate*15/1000], "ends": x[len(x)-audio.Rate*15/1000:]} {
		if p := peak(part); p < peak(x)*math.Pow(10, (trimDB-6)/20) {
			t.Errorf("%s: %s with silence", name, where)
		}
	}
}

// TestBuiltInClips looks at every clip that is embedded: there, whole, not stale, and as it should be.
func TestBuiltInClips(t *testing.T) {
	entries, err := ReadManifest(sounds.Files)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) == 0 {
		t.Skip("no clips have been made yet: run scripts/voice")
	}
	lexicon := mustLexicon(t, "")
	library := mustOpen(t, Options{Files: sounds.Files, Engine: "none"})
	named := map[string]bool{}
	for _, e := range entries {
		named[e.File] = true
		r := builtIn(e.Voice, 1)
		if spoken := lexicon.Speak(e.Written); spoken != e.Spoken || e.Key != r.key(spoken) || e.Engine != r.engine {
			t.Errorf("the clip of %s %q is stale: run scripts/voice", e.Voice, e.Written)
		}
		data, err := sounds.Files.ReadFile(sounds.Clips + "/" + e.File)
		if err != nil || sha(data) != e.SHA256 {
			t.Errorf("%s: not the file that was made (%v): run scripts/voice", e.File, err)
			continue
		}
		s, err := library.Clip(e.Voice, e.Written)
		if err != nil {
			t.Errorf("%s: %v", e.File, err)
			continue
		}
		checkClip(t, e.File+" "+e.Spoken, s)
	}
	files, err := sounds.Files.ReadDir(sounds.Clips)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".mp3") && !named[f.Name()] {
			t.Errorf("%s belongs to no phrase: run scripts/voice", f.Name())
		}
	}
}

// TestADamagedClipIsNotPlayed: a clip that is cut or is no MP3 file falls back to the engine.
func TestADamagedClipIsNotPlayed(t *testing.T) {
	for name, data := range map[string][]byte{"empty": nil, "text": []byte("no sound"), "zeros": make([]byte, 5000), "header": {0xff, 0xfb, 0x90, 0xc4}} {
		if x, err := decodeMP3(data, maxClip); err == nil && len(x) > 0 {
			if _, err := cutClip(x, 1105, 48000); err == nil {
				t.Errorf("%s is decoded as a clip", name)
			}
		}
	}
}

func TestReadClipIsBounded(t *testing.T) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	z.Write(make([]byte, 2*maxClip+2)) // into memory
	z.Close()
	if _, err := readClip(&b); err == nil {
		t.Error("a clip of more than a minute is read")
	}
}

// TestFiltersOfClarity holds the filters to what their names promise: a Butterworth high-pass is 3.01 dB down at its corner
// and falls by 12 dB an octave, and a shelf of slope 1 has half its gain at its corner (Audio EQ Cookbook).
func TestFiltersOfClarity(t *testing.T) {
	gain := func(f biquad, hz float64) float64 {
		x := sine(hz, 1, audio.Rate, audio.Rate)
		var top float64
		for i, v := range x {
			if y := f.step(v); i > audio.Rate/2 {
				top = max(top, math.Abs(y))
			}
		}
		return 20 * math.Log10(top)
	}
	for _, c := range []struct {
		name string
		f    biquad
		hz   float64
		want float64 // dB
	}{
		{"cut, corner", highPass(lowCutHz), 500, -3.01},
		{"cut, two octaves below", highPass(lowCutHz), 125, -24.1},
		{"cut, far above", highPass(lowCutHz), 7919, 0},
		{"shelf, corner", highShelf(presenceHz, presenceDB), 2000, 4},
		{"shelf, far below", highShelf(presenceHz, presenceDB), 100, 0},
		{"shelf, far above", highShelf(presenceHz, presenceDB), 15013, 8},
	} {
		if got := gain(c.f, c.hz); math.Abs(got-c.want) > 0.1 {
			t.Errorf("%s: %.2f dB at %g Hz, want %.2f", c.name, got, c.hz, c.want)
		}
	}
}

// TestClarityHalvesTheRange: a quiet stretch 20 dB below a loud one ends up 10 dB below it, and one 60 dB below gains no
// more than what the range of the compression allows.
func TestClarityHalvesTheRange(t *testing.T) {
	for below, want := range map[float64]float64{0: 0, 10: 5, 20: 10, 60: 60 - squeezeRange/2} {
		x := append(sine(1000, 0.5, audio.Rate, audio.Rate), sine(1000, 0.5*math.Pow(10, -below/20), audio.Rate, audio.Rate)...)
		y := clarify(x)
		loud, quiet := peak(y[audio.Rate/4:audio.Rate*3/4]), peak(y[audio.Rate*5/4:audio.Rate*7/4])
		if got := 20 * math.Log10(loud/quiet); math.Abs(got-want) > 0.3 {
			t.Errorf("%g dB apart before, %.2f after, want %.2f", below, got, want)
		}
	}
	if y := clarify(make([]float64, 1000)); peak(y) != 0 {
		t.Error("silence became something")
	}
}
