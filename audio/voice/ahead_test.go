package voice

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"hornlark/audio"
	"hornlark/sounds"
)

// builtInPhrases gives phrases that have a built-in clip, and how long these are together.
func builtInPhrases(t *testing.T, l *Library, count int) (list []Phrase, frames audio.Frame) {
	t.Helper()
	entries, err := ReadManifest(sounds.Files)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries[:min(count, len(entries))] {
		if l.lexicon.Speak(e.Written) == e.Spoken {
			list = append(list, Phrase{e.Voice, e.Written})
			frames += audio.Frame(e.Frames)
		}
	}
	return list, frames
}

// inMemory says whether a phrase is ready.
func (l *Library) inMemory(p Phrase) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	c, held := l.held[p]
	return held && c.made
}

// TestWhatIsSoonSaidIsMadeReady: what is asked for ahead is decoded in the background, in its order, and a later wish takes the place of
// what has not been begun.
func TestWhatIsSoonSaidIsMadeReady(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		l := mustOpen(t, Options{Files: sounds.Files, Engine: "none"})
		list, _ := builtInPhrases(t, l, 40)
		l.Ahead(list[:8])
		time.Sleep(time.Second) // in the bubble decoding takes no time, and the pauses between clips do
		for _, p := range list[:8] {
			if !l.inMemory(p) {
				t.Errorf("%q is not ready", p.Text)
			}
		}
		if l.working {
			t.Error("the goroutine goes on although nothing is wanted")
		}
		l.mu.Lock() // nothing is begun meanwhile
		l.working = true
		l.mu.Unlock()
		l.Ahead(list[8:20])
		l.Ahead(list[20:24])
		go l.work()
		time.Sleep(time.Second)
		for i, p := range list[8:24] {
			if got, want := l.inMemory(p), i >= 12; got != want {
				t.Errorf("phrase %d %q is ready: %v, want %v", i, p.Text, got, want)
			}
		}
	})
}

// TestClipsInMemoryAreBounded goes through every built-in clip twice: never more than the bound is held, what was used last stays, and
// a clip that was let go comes back the same.
func TestClipsInMemoryAreBounded(t *testing.T) {
	if testing.Short() {
		t.Skip("it decodes all clips")
	}
	l := mustOpen(t, Options{Files: sounds.Files, Engine: "none"})
	list, frames := builtInPhrases(t, l, 200)
	if frames < 2*heldFrames {
		t.Fatalf("%v of clips prove nothing about a bound of %v", frames.Duration(), audio.Frame(heldFrames).Duration())
	}
	first, err := l.Clip(list[0].Voice, list[0].Text)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range list {
		if _, err := l.Clip(p.Voice, p.Text); err != nil {
			t.Fatalf("%q: %v", p.Text, err)
		}
		var held audio.Frame
		for _, c := range l.held {
			held += c.sound.Frames()
		}
		if held > heldFrames || held != l.frames {
			t.Fatalf("%v of clips are held and %v counted, want at most %v", held.Duration(), l.frames.Duration(), audio.Frame(heldFrames).Duration())
		}
		if !l.inMemory(p) {
			t.Fatalf("%q, which was asked for just now, is not held", p.Text)
		}
	}
	if l.inMemory(list[0]) {
		t.Error("the clip that was used longest ago is still held")
	}
	if again, err := l.Clip(list[0].Voice, list[0].Text); err != nil || !slices.Equal(again.PCM, first.PCM) {
		t.Errorf("the clip that was let go comes back as %v, %v; want %v", again.Duration(), err, first.Duration())
	}
}

// TestPrepareDecodesNothing: clips that there are need not be made, and are decoded when they are wanted.
func TestPrepareDecodesNothing(t *testing.T) {
	runs := stubEngine(t, `cp "$ok" "$out"`)
	dir := t.TempDir()
	l := mustOpen(t, Options{Files: sounds.Files, CacheDir: dir, Engine: "flite"})
	list, _ := builtInPhrases(t, l, 20)
	own := Phrase{Crew, "Words that no built-in document has"}
	for range 2 {
		if err := l.Prepare(t.Context(), append(list, own), nil); err != nil {
			t.Fatal(err)
		}
	}
	if n := runs(); n != 1 {
		t.Errorf("the engine ran %d times, want once, for what has no clip", n)
	}
	if len(l.held) != 1 || !l.inMemory(own) {
		t.Errorf("%d clips are in memory, want only the one that was made", len(l.held))
	}
}

// TestAClipThatIsKeptNowhereStays: where there is no cache, what an engine made is not let go for what can be had again.
func TestAClipThatIsKeptNowhereStays(t *testing.T) {
	runs := stubEngine(t, `cp "$ok" "$out"`)
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	l := mustOpen(t, Options{CacheDir: filepath.Join(file, "below"), Engine: "flite"})
	own := Phrase{Crew, "Words that no built-in document has"}
	if _, err := l.Clip(own.Voice, own.Text); err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		l.mu.Lock()
		l.held[Phrase{Crew, fmt.Sprint(i)}] = &clip{made: true, sound: audio.Sound{PCM: make([]int16, heldFrames/2+1)}, used: 100 + i}
		l.frames += heldFrames/2 + 1
		l.makeRoom(nil)
		l.mu.Unlock()
	}
	if _, err := l.Clip(own.Voice, own.Text); err != nil || runs() != 1 {
		t.Errorf("%v; the engine ran %d times, want once", err, runs())
	}
}

// BenchmarkDecode decodes a clip of a second or so; the figure that counts is that for a second of speech.
func BenchmarkDecode(b *testing.B) {
	entries, err := ReadManifest(sounds.Files)
	if err != nil {
		b.Fatal(err)
	}
	c, err := loadClips(sounds.Files)
	if err != nil {
		b.Fatal(err)
	}
	var frames audio.Frame
	for i := 0; b.Loop(); i++ {
		s, err := c.sound(entries[i%len(entries)].Key)
		if err != nil {
			b.Fatal(err)
		}
		frames += s.Frames()
	}
	b.ReportMetric(b.Elapsed().Seconds()*1000/frames.Duration().Seconds(), "ms/s")
}
