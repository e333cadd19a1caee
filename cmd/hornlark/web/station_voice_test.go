package web

import (
	"context"
	"strings"
	"testing"
	"time"

	"hornlark/audio/voice"
	"hornlark/drill"
)

// made is a voice.Library that makes clips one by one, as the program has it.
type made struct{ *voice.Library }

func (m made) Make(ctx context.Context, who, text string) {
	_ = m.Prepare(ctx, []voice.Phrase{{Voice: who, Text: text}}, nil)
}

// Of a sentence it is said whether it would be heard, and a clip that is missing is made before it is said.
func TestASentenceIsMadeBeforeItIsSaid(t *testing.T) {
	for _, engine := range []string{"none", "flite"} {
		lib, err := voice.Open(voice.Options{Engine: engine, CacheDir: t.TempDir()})
		if err != nil || engine == "flite" && lib.Engine() == "" {
			t.Skipf("%s cannot speak here: %v", engine, err)
		}
		s := answering(t, "kim")
		s.mu.Lock()
		s.about.Voices = made{lib}
		s.mu.Unlock()
		const sentence = "Base has lost your radio."
		before, after := "no clip of it and no speech engine", "no clip of it"
		if engine != "none" {
			before, after = "made before it is said", "there is a clip of it"
		}
		if got := s.voiceOf(sentence); !strings.Contains(got, before) {
			t.Errorf("%s: before, %q", engine, got)
		}
		answered := make(chan string, 1)
		s.do(t.Context(), asking{Kind: "do", Do: drill.SayOut, What: sentence}, time.Now(), func(done bool, why string) {
			if !done {
				why = "not done: " + why
			}
			answered <- why
		})
		if got := <-answered; !strings.Contains(got, after) {
			t.Errorf("%s: said, %q", engine, got)
		}
	}
}
