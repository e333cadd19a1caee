package voice

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"unicode"

	"hornlark/sounds"
)

// spoken is what must hold of whatever is spoken.
func checkSpoken(t *testing.T, text, said string) {
	t.Helper()
	if strings.ContainsAny(said, "0123456789") || strings.ContainsFunc(said, unicode.IsControl) {
		t.Errorf("%q is spoken %q", text, said)
	}
}

// FuzzSpeak: numbers, units and words in any order are spoken without figures, and never make it panic.
func FuzzSpeak(f *testing.F) {
	l := mustLexicon(f, "")
	for _, seed := range []string{
		"00 ft", "0 ft", "000 ft", "0100 ft", "00", "100.00 ft", "1:00 ft", "-00 ft", "99900 ft", "100000 ft", "1500ft", "70-75 %", "-5 °C", "24.5.6 V", "12:30:45 s",
		"0.0 %", "1 1 1", "R P M", "A2", "é5", "٣ ft", "5'", "5''", "1–2 ft", "–", "& + / 100 kg", "\x00", "\xff100 ft", "FL 00",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		checkSpoken(t, text, l.Speak(text))
	})
}

// FuzzNumbers: every number that a text can have, before every unit, with and without a space.
func FuzzNumbers(f *testing.F) {
	l := mustLexicon(f, "")
	f.Add("00", uint8(0), true, "")
	f.Add("5", uint8(3), false, "-")
	f.Fuzz(func(t *testing.T, number string, unit uint8, space bool, before string) {
		text := before + number
		if space {
			text += " "
		}
		text += l.units[int(unit)%len(l.units)]
		checkSpoken(t, text, l.Speak(text))
	})
}

// FuzzLexicon: whatever stands in a file of one's own, it is refused or spoken by.
func FuzzLexicon(f *testing.F) {
	for _, seed := range []string{
		"words: {NR: N R}", "digits: [a, b, c, d, e, f, g, h, i, j]", "digits: []", "units: {\"\": [a, b], ft: [foot, feet]}", "hundreds: [\"\", ft, m]", "units: {\"1\": [a, b]}",
		"phrases: {\"\": x}", "point: \"\"\nminus: \"-\"", "units: {\" \": [a, b], \"%%\": [c, d]}", "words: {\"\": x, é: y}",
	} {
		f.Add([]byte(seed), "NR 1500 ft -5 % 00")
	}
	data, err := sounds.Files.ReadFile(sounds.Lexicon)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, file []byte, text string) {
		var own lexiconFile
		if err := own.read(data, sounds.Lexicon); err != nil {
			t.Fatal(err)
		}
		if own.read(file, "own.yaml") == nil {
			newLexicon(own).Speak(text)
		}
	})
}

// A lexicon with 70,000 unknown keys is refused at once, and with no more lines than anybody reads.
func TestHostileLexicon(t *testing.T) {
	data, err := sounds.Files.ReadFile(sounds.Lexicon)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "lexicon.yaml")
	if err := os.WriteFile(path, []byte(strings.Repeat("k: v\nkk: v\nkey: v\n", 23_333)), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = LoadLexicon(fstest.MapFS{sounds.Lexicon: {Data: data}}, path)
	if err == nil || strings.Count(err.Error(), "\n") > 60 {
		t.Errorf("%.200v", err)
	}
}
