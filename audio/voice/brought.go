package voice

import (
	"bytes"
	"context"
	"io/fs"
	"os"

	"hornlark/audio"
)

// brought is a folder with clips that came with documents, called as the cache calls them. It belongs to somebody else: nothing in it is
// ever written or taken away. A clip counts whichever engine has made it, also where that is not installed.
type brought struct{ dir string }

// names are what a clip of a phrase may be called, by the engine that has made it.
func (b brought) names(voice, spoken string, speed float64) (names []string) {
	if b.dir == "" {
		return nil
	}
	for _, e := range engines {
		names = append(names, cache(b).path(e.recipe(voice, speed).key(spoken)))
	}
	return names
}

func (b brought) load(voice, spoken string, speed float64) (audio.Sound, error) {
	for _, name := range b.names(voice, spoken, speed) {
		f, err := os.Open(name)
		if err != nil {
			continue
		}
		s, err := readClip(f)
		f.Close()
		if err == nil {
			return s, nil
		}
	}
	return audio.Sound{}, fs.ErrNotExist
}

func (b brought) has(voice, spoken string, speed float64) bool {
	for _, name := range b.names(voice, spoken, speed) {
		if _, err := os.Stat(name); err == nil {
			return true
		}
	}
	return false
}

// CheckClip says what is wrong with the bytes of a clip, as Save writes them: it is decoded.
func CheckClip(data []byte) error {
	_, err := readClip(bytes.NewReader(data))
	return err
}

// Save has every phrase that no built-in clip says spoken, and keeps the clips in a folder, to go with documents. Those that it has are
// left alone. It gives how many there are in it now, and how many phrases cannot be spoken. The error is that of ctx or of writing.
func (l *Library) Save(ctx context.Context, folder string, phrases []Phrase, progress func(done, total int)) (kept, silent int, err error) {
	seen := map[string]bool{}
	for i, p := range phrases {
		if err := ctx.Err(); err != nil {
			return kept, silent, err
		}
		if progress != nil {
			progress(i, len(phrases))
		}
		spoken := l.Speak(p.Text)
		if _, builtin := l.clips.duration(builtIn(p.Voice, l.speed).key(spoken)); builtin || spoken == "" {
			continue
		}
		if l.engine == nil {
			silent++
			continue
		}
		key := l.engine.recipe(p.Voice, l.speed).key(spoken)
		if seen[key] {
			continue
		}
		seen[key] = true
		into := cache{folder}
		if _, err := os.Stat(into.path(key)); err != nil {
			sound, err := l.Clip(p.Voice, p.Text)
			if err != nil {
				silent++
				continue
			}
			if err := into.store(key, sound); err != nil {
				return kept, silent, err
			}
		}
		kept++
	}
	return kept, silent, nil
}
