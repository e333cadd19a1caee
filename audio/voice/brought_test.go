package voice

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"hornlark/audio"
)

// foreignWords is a phrase that no built-in clip says.
const foreignWords = "Quite foreign words for a test"

// A clip that came with documents is played where there is no engine, whichever one has made it; a damaged one is none, and is left where it
// lies.
func TestClipsThatCameWithDocuments(t *testing.T) {
	for _, e := range engines {
		dir := t.TempDir()
		open := func(clips string) *Library {
			l, err := Open(Options{Engine: NoEngine, CacheDir: t.TempDir(), Clips: clips})
			if err != nil {
				t.Fatal(err)
			}
			return l
		}
		l := open(dir)
		if _, err := l.Clip(Crew, foreignWords); !errors.Is(err, ErrNoVoice) || l.Ready(Crew, foreignWords) {
			t.Errorf("%s: it is spoken without a clip: %v", e.name(), err)
		}
		sound := audio.Sound{PCM: make([]int16, 2000)}
		for i := range sound.PCM {
			sound.PCM[i] = int16(i)
		}
		key := e.recipe(Crew, 1).key(l.Speak(foreignWords))
		if err := (cache{dir}).store(key, sound); err != nil {
			t.Fatal(err)
		}
		l = open(dir)
		if got, err := l.Clip(Crew, foreignWords); err != nil || !slices.Equal(got.PCM, sound.PCM) || !l.Ready(Crew, foreignWords) {
			t.Errorf("%s: the clip is not played: %v", e.name(), err)
		}
		if _, err := l.Clip(Challenger, foreignWords); !errors.Is(err, ErrNoVoice) {
			t.Errorf("%s: another voice has it too: %v", e.name(), err)
		}
		path := filepath.Join(dir, key+".pcm.gz")
		body, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := CheckClip(body); err != nil {
			t.Error(err)
		}
		body[len(body)-6] ^= 1 // its checksum
		if err := os.WriteFile(path, body, 0o600); err != nil {
			t.Fatal(err)
		}
		if CheckClip(body) == nil {
			t.Error("a damaged clip is taken")
		}
		if _, err := open(dir).Clip(Crew, foreignWords); !errors.Is(err, ErrNoVoice) {
			t.Errorf("%s: a damaged clip is played: %v", e.name(), err)
		}
		if _, err := os.Stat(path); err != nil {
			t.Errorf("a clip that is somebody else's was taken away: %v", err)
		}
	}
}

// A lexicon that came with documents lies between the built-in one and the user's own.
func TestLexiconThatCameWithDocuments(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	under, own := write("under.yaml", "words: {Zork: first, Quux: second}\n"), write("own.yaml", "words: {Quux: third}\n")
	l, err := Open(Options{Engine: NoEngine, CacheDir: dir, Under: under, Lexicon: own})
	if err != nil {
		t.Fatal(err)
	}
	if got := l.Speak("Zork Quux"); got != "first third" {
		t.Errorf("it says %q", got)
	}
	if err := CheckLexicon([]byte("wrods: {}\n"), "x"); err == nil {
		t.Error("a lexicon with a slip is taken")
	}
}

// What is saved to go with documents is what no built-in clip says, once, and is found again.
func TestSavingClips(t *testing.T) {
	l, err := Open(Options{Engine: "flite", CacheDir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	if l.Engine() == "" {
		t.Skip("there is no engine to speak with")
	}
	dir := filepath.Join(t.TempDir(), "voice")
	phrases := []Phrase{{Crew, foreignWords}, {Crew, foreignWords}, {Responder, "In the green"}}
	for range 2 {
		kept, silent, err := l.Save(t.Context(), dir, phrases, nil)
		if kept != 1 || silent != 0 || err != nil {
			t.Errorf("%d, %d, %v", kept, silent, err)
		}
	}
	if names, _ := os.ReadDir(dir); len(names) != 1 {
		t.Errorf("%v", names)
	}
	other, err := Open(Options{Engine: NoEngine, CacheDir: t.TempDir(), Clips: dir})
	if err != nil {
		t.Fatal(err)
	}
	if !other.Ready(Crew, foreignWords) {
		t.Error("it is not found again")
	}
}
