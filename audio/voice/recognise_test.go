package voice

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"flag"
	"fmt"
	"maps"
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

	"hornlark/audio"
	"hornlark/sounds"
)

// What the recogniser needs, as Debian installs it (pocketsphinx, pocketsphinx-en-us).
const (
	recogniser = "pocketsphinx_batch"
	hearRate   = 16000
)

var (
	modelDir  = "/usr/share/pocketsphinx/model/en-us/en-us"
	modelDict = "/usr/share/pocketsphinx/model/en-us/cmudict-en-us.dict"
)

// TestARecogniserUnderstandsTheClips has every built-in clip heard by a speech recogniser that was not made for us, with
// everything that its voice says as the grammar, as an ear that knows the voice has it: clean, and 10 dB above cabin noise. HORNLARK_NOISES is how many noises they
// are heard over, each from other random numbers. Without it those are heard that nobody has heard yet as they are (testdata/heard.txt has the others),
// and a quarter of all, clean and over one noise, which takes two minutes less.
func TestARecogniserUnderstandsTheClips(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes minutes")
	}
	if _, err := exec.LookPath(recogniser); err != nil {
		t.Skip("pocketsphinx is not installed (Debian: apt-get install pocketsphinx pocketsphinx-en-us)")
	}
	if _, err := os.Stat(modelDict); err != nil {
		t.Skip("its English model is not installed (Debian: apt-get install pocketsphinx-en-us)")
	}
	entries, err := ReadManifest(sounds.Files)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) == 0 {
		t.Skip("no clips have been made yet: run scripts/voice")
	}
	byFile := map[string]Entry{}
	for _, e := range entries {
		byFile[e.File] = e
	}
	expected := byEar(t, entries)
	said := map[string]map[string]string{} // by voice
	for _, e := range entries {
		if said[e.Voice] == nil {
			said[e.Voice] = map[string]string{}
		}
		said[e.Voice][e.Written] = expected[e.Written]
	}
	clips, err := loadClips(sounds.Files)
	if err != nil {
		t.Fatal(err)
	}
	type test struct {
		name  string
		snr   float64 // dB; infinite for no noise
		least float64 // share understood
		noise uint64
		every int // of so many clips one is heard
	}
	count, every := noises(t)
	tests := []test{{"clean", math.Inf(1), 0.98, 0, every}}
	knownAs := heardBefore(t) // words, by the hash of a clip
	for n := range count {
		tests = append(tests, test{fmt.Sprintf("10 dB over cabin noise %d", n+1), 10, 0.95, n, every})
	}
	names := slices.Sorted(maps.Keys(byFile))
	decoded := map[string]audio.Sound{} // decoded once for all tests
	for _, name := range names {
		if decoded[name], err = clips.sound(byFile[name].Key); err != nil {
			t.Fatal(err)
		}
	}
	grammars, dicts := map[string]string{}, map[string]string{} // by voice
	for voice, its := range said {
		grammars[voice], dicts[voice] = writeGrammar(t, its)
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			names := names
			clean := math.IsInf(test.snr, 1)
			trusted := 0
			if test.every > 1 {
				var some []string
				for i, name := range names {
					switch e := byFile[name]; {
					case i%test.every == 0 || clean && knownAs[e.SHA256] != expected[e.Written]:
						some = append(some, name)
					case clean:
						trusted++
					}
				}
				names = some
			}
			for _, name := range names {
				writeForHearing(t, filepath.Join(dir, name+".raw"), decoded[name], test.snr, test.noise)
			}
			heard := map[string]string{}
			for _, voice := range slices.Sorted(maps.Keys(said)) {
				its := slices.DeleteFunc(slices.Clone(names), func(name string) bool { return byFile[name].Voice != voice })
				maps.Copy(heard, recognise(t, dir, its, grammars[voice], dicts[voice]))
			}
			right, voices, understood := 0, map[string][2]int{}, map[string]string{}
			for _, name := range names {
				e := byFile[name]
				count := voices[e.Voice]
				if want := expected[e.Written]; heard[name] == want {
					right++
					count[0]++
					understood[e.SHA256] = want
				} else {
					t.Logf("the %s's %q was heard as %q", e.Voice, want, heard[name])
				}
				count[1]++
				voices[e.Voice] = count
			}
			t.Logf("%d of %d understood; by voice %v", right, len(names), voices)
			if share := float64(right+trusted) / float64(len(names)+trusted); share < test.least {
				t.Errorf("%.1f %% understood, want %.0f %%", 100*share, 100*test.least)
			}
			if clean && test.every == 1 {
				holdHeard(t, knownAs, understood)
			}
		})
	}
}

// noises is how many noises are asked for, and of how many clips one is heard over them.
func noises(t *testing.T) (count uint64, every int) {
	asked := os.Getenv("HORNLARK_NOISES")
	if asked == "" {
		return 1, 4
	}
	n, err := strconv.ParseUint(asked, 10, 8)
	if err != nil || n == 0 {
		t.Fatalf("HORNLARK_NOISES is %q; write a number from 1 to 255", asked)
	}
	return n, 1
}

// heardFile has the hash of each clip that was understood clean when last all of them were heard, a tab, and the words.
const heardFile = "testdata/heard.txt"

var rewrite = flag.Bool("rewrite", false, "write which clips were understood into "+heardFile+", with HORNLARK_NOISES")

// heardBefore reads the list of clips that were understood.
func heardBefore(t *testing.T) map[string]string {
	t.Helper()
	data, err := os.ReadFile(heardFile)
	if err != nil {
		t.Fatal(err)
	}
	heard := map[string]string{}
	for line := range strings.Lines(string(data)) {
		hash, words, _ := strings.Cut(strings.TrimRight(line, "\r\n"), "\t")
		heard[hash] = words
	}
	return heard
}

// holdHeard holds the list to what was understood, or writes it anew.
func holdHeard(t *testing.T, listed, understood map[string]string) {
	t.Helper()
	if *rewrite {
		var b strings.Builder
		for _, hash := range slices.Sorted(maps.Keys(understood)) {
			fmt.Fprintf(&b, "%s\t%s\n", hash, understood[hash])
		}
		if err := os.WriteFile(heardFile, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	for hash, words := range listed {
		if understood[hash] != words {
			t.Errorf("%s lists %q (%.8s…), which was not understood, or is no clip any more: run this with -rewrite", heardFile, words, hash)
		}
	}
}

// byEarFile lists, for every phrase that is not written as it is said, the words that a person would say: the phrase, a tab,
// the words. It was written by hand, and neither the lexicon nor what the clips were made from has a part in it: a lexicon that
// speaks R as "right" is found out.
const byEarFile = "testdata/by-ear.txt"

var (
	saidAsWritten = regexp.MustCompile(`^(?:[A-Za-z][a-z']+|A|I)(?:[ ,.;:?!-]+(?:[A-Za-z][a-z']+|a|I))*[.?!]*$`)
	betweenWords  = regexp.MustCompile(`[^a-z']+`)
)

// byEar gives the words that are to be heard of each phrase: as it is written if it has nothing but words, otherwise as the
// list has it.
func byEar(t *testing.T, entries []Entry) map[string]string {
	t.Helper()
	data, err := os.ReadFile(byEarFile)
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]string{}
	for line := range strings.Lines(string(data)) {
		if written, words, ok := strings.Cut(strings.TrimRight(line, "\r\n"), "\t"); ok {
			listed[written] = words
		}
	}
	expected := map[string]string{}
	for _, e := range entries {
		words, found := listed[e.Written]
		switch {
		case found:
		case saidAsWritten.MatchString(e.Written):
			words = strings.TrimSpace(betweenWords.ReplaceAllString(strings.ToLower(e.Written), " "))
		default:
			t.Errorf("%q is not written as it is said: say it aloud, and add the words to %s", e.Written, byEarFile)
		}
		expected[e.Written] = words
	}
	for _, written := range slices.Sorted(maps.Keys(listed)) {
		if _, used := expected[written]; !used {
			t.Errorf("%s: nobody says %q any more", byEarFile, written)
		}
	}
	if t.Failed() {
		t.FailNow()
	}
	return expected
}

// writeGrammar writes the phrases as a grammar, and a dictionary of their words. A word that the dictionary lacks would
// make the whole grammar fail without a word: our own pronunciations are added, and what is still missing fails the test.
func writeGrammar(t *testing.T, expected map[string]string) (grammar, dict string) {
	t.Helper()
	phrases, words := map[string]bool{}, map[string]bool{}
	for _, said := range expected {
		phrases[said] = true
		for _, w := range strings.Fields(said) {
			words[w] = true
		}
	}
	var kept bytes.Buffer
	for _, path := range []string{modelDict, filepath.Join("testdata", "pronunciations.dict")} {
		f, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		for lines := bufio.NewScanner(f); lines.Scan(); {
			word, _, _ := strings.Cut(lines.Text(), " ")
			base, _, _ := strings.Cut(word, "(")
			if known, wanted := words[base]; wanted {
				fmt.Fprintln(&kept, lines.Text())
				if known {
					words[base] = false
				}
			}
		}
	}
	for _, w := range slices.Sorted(maps.Keys(words)) {
		if words[w] {
			t.Errorf("no pronunciation for %q: add it to testdata/pronunciations.dict", w)
		}
	}
	if t.Failed() {
		t.FailNow()
	}
	dir := t.TempDir()
	grammar, dict = filepath.Join(dir, "phrases.jsgf"), filepath.Join(dir, "words.dict")
	text := "#JSGF V1.0;\ngrammar phrases;\npublic <phrase> = " + strings.Join(slices.Sorted(maps.Keys(phrases)), " | ") + " ;\n"
	for path, data := range map[string][]byte{grammar: []byte(text), dict: kept.Bytes()} {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return grammar, dict
}

// writeForHearing writes a clip at the recogniser's rate, with half a second before and after it, over noise if snr is
// finite: how many LU the clip is louder than the noise, by ITU-R BS.1770.
func writeForHearing(t *testing.T, path string, s audio.Sound, snr float64, noise uint64) {
	t.Helper()
	x := make([]float64, len(s.PCM))
	for i, v := range s.PCM {
		x[i] = float64(v) / 32768
	}
	loudness := Loudness(x)
	pad := make([]float64, audio.Rate/2)
	x = slices.Concat(pad, x, pad)
	if !math.IsInf(snr, 1) {
		hum := cabin(len(x), noise)
		gain := math.Pow(10, (loudness-snr-Loudness(hum))/20)
		for i := range x {
			x[i] += gain * hum[i]
		}
	}
	x = resample(x, audio.Rate, hearRate)
	data := make([]byte, 0, 2*len(x))
	for _, v := range x {
		data = binary.LittleEndian.AppendUint16(data, uint16(int16(max(-1, min(1, v))*32767)))
	}
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
}

// cabin is the noise of a cabin: broad, and falling by 6 dB an octave above 100 Hz; the beat of the blades; the whine
// of a gearbox. Common practice, no source.
func cabin(n int, noise uint64) []float64 {
	rng := rand.New(rand.NewPCG(7+noise, 8))
	pole := math.Exp(-2 * math.Pi * 100 / audio.Rate)
	x := make([]float64, n)
	var broad float64
	for i := range x {
		broad = pole*broad + 0.1*rng.NormFloat64()
		at := float64(i) / audio.Rate
		x[i] = broad + 0.3*math.Sin(2*math.Pi*24*at) + 0.02*math.Sin(2*math.Pi*1450*at)
	}
	return x
}

// recognise gives what was heard in each file, with a recogniser on every processor.
func recognise(t *testing.T, dir string, names []string, grammar, dict string) map[string]string {
	t.Helper()
	var (
		parts = runtime.GOMAXPROCS(0)
		each  = make([]map[string]string, parts)
		all   sync.WaitGroup
	)
	for i := range parts {
		all.Go(func() {
			from, to := len(names)*i/parts, len(names)*(i+1)/parts
			each[i] = recogniseSome(t, dir, i, names[from:to], grammar, dict)
		})
	}
	all.Wait()
	heard := map[string]string{}
	for _, some := range each {
		maps.Copy(heard, some)
	}
	if len(heard) == 0 {
		t.Fatal("the recogniser heard nothing at all")
	}
	return heard
}

// recogniseSome has one recogniser hear some of the files.
func recogniseSome(t *testing.T, dir string, part int, names []string, grammar, dict string) map[string]string {
	suffix := strconv.Itoa(part)
	list, out := filepath.Join(dir, "list"+suffix), filepath.Join(dir, "heard"+suffix)
	if err := os.WriteFile(list, []byte(strings.Join(names, "\n")+"\n"), 0o600); err != nil {
		t.Error(err)
		return nil
	}
	cmd := exec.Command(recogniser, "-hmm", modelDir, "-dict", dict, "-jsgf", grammar, "-adcin", "yes", "-cepdir", dir,
		"-cepext", ".raw", "-ctl", list, "-hyp", out, "-samprate", fmt.Sprint(hearRate), "-bestpath", "no", "-maxhmmpf", "2500")
	if text, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%v: %s", err, text[max(0, len(text)-2000):])
		return nil
	}
	data, err := os.ReadFile(out)
	if err != nil {
		t.Error(err)
		return nil
	}
	// A line is: the words, the file and a score in brackets.
	line := regexp.MustCompile(`(?m)^(.*) \((\S+) -?\d+\)$`)
	heard := map[string]string{}
	for _, m := range line.FindAllStringSubmatch(string(data), -1) {
		heard[m[2]] = strings.TrimSpace(m[1])
	}
	return heard
}
