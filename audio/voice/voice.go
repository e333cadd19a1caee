// Package voice turns phrases into clips: built-in ones from the embedded files, others through the speech engine that
// the machine has, kept for the next time.
package voice

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"hornlark/audio"
	"hornlark/sounds"
)

// The voices.
const (
	Challenger = "challenger" // reads the items
	Responder  = "responder"  // echoes the response
	Crew       = "crew"       // everybody else
)

// WordsPerMinute is how fast speech is taken to be where there is no clip to measure: 156 words a minute was what
// pilots preferred for warnings. C. A. Simpson and K. Marchionda-Frost, Human Factors 26 (1984), from memory.
const WordsPerMinute = 156

// ErrNoVoice is the answer for a phrase that cannot be spoken on this machine: show it as text.
var ErrNoVoice = errors.New("voice: there is no clip of this phrase and no speech engine to make one")

// Limits of the library.
const (
	maxHeld       = 2048            // phrases in memory
	heldFrames    = 60 * audio.Rate // of clips in memory, 6 MB; what was used longest ago goes first
	renderTimeout = 20 * time.Second
	aheadPause    = 20 * time.Millisecond // between two clips that are made ready ahead: others want the processor too
)

// Options say how to open a Library. The zero value is right for most.
type Options struct {
	Files    fs.FS   // with the built-in sounds; nil for those that are embedded
	CacheDir string  // for rendered clips; empty for a folder in the user's cache
	Lexicon  string  // file laid over the built-in lexicon; empty for none
	Under    string  // file laid over the built-in lexicon before that one, as it comes with documents; empty for none
	Clips    string  // folder with clips that came with documents, as Save writes them; empty for none
	Engine   string  // name of the speech engine to use; empty for the first one found, "none" for none
	Speed    float64 // of the speech, 0.5 to 2; 0 for 1
}

// Phrase is something to be said.
type Phrase struct{ Voice, Text string }

// Library gives clips. Its methods may be called from several goroutines.
type Library struct {
	lexicon *Lexicon
	clips   clips
	cache   cache
	brought brought
	engine  engine // nil if there is none
	missing string // what to do about it
	speed   float64

	mu      sync.Mutex
	held    map[Phrase]*clip
	frames  audio.Frame // of the clips in held that may go
	clock   int         // counts uses
	ahead   []Phrase    // to be made ready next
	working bool        // a goroutine is at it
	silent  int         // phrases that could not be spoken
	cause   error
}

// clip is a phrase that is ready, or is being made.
type clip struct {
	ready chan struct{}
	sound audio.Sound
	err   error
	made  bool // ready is closed; guarded by the library's lock
	stays bool // it could not be had again at once: made by an engine, and kept nowhere else
	used  int  // when it was last asked for
}

// Open makes a library. That a machine has no speech engine is no error: Notice tells when it matters. An error means
// that the options or the instructor's lexicon are wrong.
func Open(options Options) (*Library, error) {
	if options.Files == nil {
		options.Files = sounds.Files
	}
	if options.Speed == 0 {
		options.Speed = 1
	}
	if !(options.Speed >= 0.5 && options.Speed <= 2) {
		return nil, fmt.Errorf("voice: a speed of %g is out of range; give 0.5 to 2", options.Speed)
	}
	lexicon, err := LoadLexicon(options.Files, options.Under, options.Lexicon)
	if err != nil {
		return nil, err
	}
	clips, err := loadClips(options.Files)
	if err != nil {
		return nil, err
	}
	engine, missing, err := findEngine(options.Engine)
	if err != nil {
		return nil, err
	}
	return &Library{
		lexicon: lexicon,
		clips:   clips,
		cache:   openCache(options.CacheDir),
		brought: brought{options.Clips},
		engine:  engine,
		missing: missing,
		speed:   options.Speed,
		held:    map[Phrase]*clip{},
	}, nil
}

// Speak gives the spoken form of a written phrase.
func (l *Library) Speak(text string) string { return l.lexicon.Speak(text) }

// Clip gives the clip of a phrase. One that was made ready with Ahead is there at once. Otherwise it is decoded now, which takes
// some 10 ms for a second of speech, or rendered, which takes longer and is what Prepare is for. ErrNoVoice, perhaps wrapped,
// means that the phrase has to be shown as text.
func (l *Library) Clip(voice, text string) (audio.Sound, error) {
	p := Phrase{voice, text}
	l.mu.Lock()
	c, found := l.held[p]
	if !found {
		c = &clip{ready: make(chan struct{})}
		l.held[p] = c
	}
	l.clock++
	c.used = l.clock
	l.mu.Unlock()
	if !found {
		var stays bool
		c.sound, stays, c.err = l.make(p)
		l.mu.Lock()
		if c.err != nil {
			l.silent++
			l.cause = c.err
		}
		c.made, c.stays = true, stays || c.err != nil // a failure stays too: it is counted once, and not tried again
		if !c.stays {
			l.frames += c.sound.Frames()
		}
		l.makeRoom(c)
		l.mu.Unlock()
		close(c.ready)
	}
	<-c.ready
	return c.sound, c.err
}

// makeRoom lets clips go that were used longest ago, as long as there are too many; never the one that was made just now. The caller
// holds the lock.
func (l *Library) makeRoom(fresh *clip) {
	for l.frames > heldFrames || len(l.held) > maxHeld {
		var oldest *clip
		var which Phrase
		for p, c := range l.held {
			goes := c.made && c != fresh && (!c.stays || l.frames <= heldFrames)
			if goes && (oldest == nil || c.used < oldest.used) {
				oldest, which = c, p
			}
		}
		if oldest == nil {
			return
		}
		if !oldest.stays {
			l.frames -= oldest.sound.Frames()
		}
		delete(l.held, which)
	}
}

// Ahead makes phrases ready in the background, the first of them first. What an earlier call asked for and is not begun yet is
// dropped. Of what would not fit into memory together only the first is made ready.
func (l *Library) Ahead(phrases []Phrase) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.ahead = l.ahead[:0]
	room := audio.Frame(heldFrames / 2)
	for _, p := range phrases {
		if room -= audio.Frames(l.Duration(p.Voice, p.Text)); room < 0 {
			break
		}
		if c, held := l.held[p]; held {
			l.clock++
			c.used = l.clock
			continue
		}
		l.ahead = append(l.ahead, p)
	}
	if len(l.ahead) > 0 && !l.working {
		l.working = true
		go l.work()
	}
}

// work makes ready what is wanted, and ends when nothing is.
func (l *Library) work() {
	for {
		l.mu.Lock()
		if len(l.ahead) == 0 {
			l.working = false
			l.mu.Unlock()
			return
		}
		p := l.ahead[0]
		l.ahead = l.ahead[1:]
		l.mu.Unlock()
		l.Clip(p.Voice, p.Text) // what goes wrong is told when the phrase is to be heard, and by Notice
		time.Sleep(aheadPause)
	}
}

// make finds a clip, or has it rendered. One that stays could not be had again at once.
func (l *Library) make(p Phrase) (s audio.Sound, stays bool, err error) {
	spoken := l.Speak(p.Text)
	if spoken == "" {
		return audio.Sound{}, false, fmt.Errorf("%w: nothing in %q can be said", ErrNoVoice, p.Text)
	}
	if s, err := l.clips.sound(builtIn(p.Voice, l.speed).key(spoken)); err == nil {
		return s, false, nil
	}
	if s, err := l.brought.load(p.Voice, spoken, l.speed); err == nil {
		return s, false, nil
	}
	if l.engine == nil {
		return audio.Sound{}, false, ErrNoVoice
	}
	r := l.engine.recipe(p.Voice, l.speed)
	key := r.key(spoken)
	if s, err := l.cache.load(key); err == nil {
		return s, false, nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), renderTimeout)
	defer cancel()
	s, err = renderWith(ctx, l.engine, r, spoken)
	if err != nil {
		return audio.Sound{}, false, fmt.Errorf("%w: %w", ErrNoVoice, err)
	}
	return s, l.cache.store(key, s) != nil, nil
}

// Ready says whether a phrase has a clip that needs no engine any more: a built-in one, or one that is kept whole.
func (l *Library) Ready(voice, text string) bool {
	spoken := l.Speak(text)
	if spoken == "" {
		return false
	}
	if _, ok := l.clips.duration(builtIn(voice, l.speed).key(spoken)); ok {
		return true
	}
	if _, err := l.brought.load(voice, spoken, l.speed); err == nil {
		return true
	}
	if l.engine == nil {
		return false
	}
	_, err := l.cache.load(l.engine.recipe(voice, l.speed).key(spoken))
	return err == nil
}

// Prepare has an engine make what has no clip yet, so that no later call of Clip has to wait for one: those that there are need
// only be decoded. progress, if not nil, is called after each phrase, in one goroutine at a time. Phrases that cannot be spoken
// are counted and do not stop the others; the error is that of ctx.
func (l *Library) Prepare(ctx context.Context, phrases []Phrase, progress func(done, total int)) error {
	var (
		mu   sync.Mutex
		done int
		all  sync.WaitGroup
		next = make(chan Phrase)
	)
	count := func() {
		mu.Lock()
		defer mu.Unlock()
		done++
		if progress != nil {
			progress(done, len(phrases))
		}
	}
	for range min(runtime.GOMAXPROCS(0), 4) {
		all.Go(func() {
			for p := range next {
				l.Clip(p.Voice, p.Text)
				count()
			}
		})
	}
	defer all.Wait()
	defer close(next)
	for _, p := range phrases {
		if ctx.Err() == nil && l.kept(p) {
			count()
			continue
		}
		select {
		case next <- p:
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}

// kept says whether there is a clip of a phrase, built in or in the cache; whether that one is whole shows when it is read.
func (l *Library) kept(p Phrase) bool {
	spoken := l.Speak(p.Text)
	if _, ok := l.clips.duration(builtIn(p.Voice, l.speed).key(spoken)); ok {
		return true
	}
	if l.brought.has(p.Voice, spoken, l.speed) {
		return true
	}
	return l.engine != nil && l.cache.has(l.engine.recipe(p.Voice, l.speed).key(spoken))
}

// Duration gives how long a phrase takes to say: that of its built-in clip, or else an estimate from its words. It is
// the same on every machine, whatever speech engine it has, so that a sitting without a clock is too.
func (l *Library) Duration(voice, text string) time.Duration {
	spoken := l.Speak(text)
	if d, ok := l.clips.duration(builtIn(voice, l.speed).key(spoken)); ok {
		return d
	}
	words := len(strings.Fields(spoken))
	return time.Duration(float64(words) * float64(time.Minute) / (WordsPerMinute * l.speed)).Round(time.Millisecond)
}

// Notice gives the one line that a person should read about the voices, or nothing if every phrase so far was spoken.
func (l *Library) Notice() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case l.silent == 0:
		return ""
	case l.engine == nil:
		return fmt.Sprintf("No voice for %s: %s. They are shown as text.", count(l.silent), l.missing)
	}
	return fmt.Sprintf("No voice for %s, which are shown as text: %s.", count(l.silent), strings.Join(strings.Fields(l.cause.Error()), " "))
}

func count(n int) string {
	if n == 1 {
		return "1 phrase"
	}
	return fmt.Sprintf("%d phrases", n)
}

// Engine names the speech engine in use, or is empty if there is none.
func (l *Library) Engine() string {
	if l.engine == nil {
		return ""
	}
	return l.engine.name()
}

// recipe is everything but the words that decides how a clip sounds.
type recipe struct {
	engine string
	voice  string // as the engine calls it
	speed  float64
}

// processing changes whenever what finish does to a clip changes, and makes every clip stale.
const processing = 2

// settings gives the recipe without engine and voice, for the manifest.
func (r recipe) settings() string {
	return fmt.Sprintf("speed=%.2f loudness=%.0f processing=%d", r.speed, LoudnessLUFS, processing)
}

// key names a clip by its content.
func (r recipe) key(spoken string) string {
	sum := sha256.Sum256([]byte(strings.Join([]string{r.engine, r.voice, r.settings(), spoken}, "\n")))
	return hex.EncodeToString(sum[:12])
}

// builtIn is how the embedded clips were made.
func builtIn(voice string, speed float64) recipe {
	return flite{}.recipe(voice, speed)
}

// defaultCacheDir is where clips are kept, or empty if the machine has no such place.
func defaultCacheDir() string {
	dir, err := os.UserCacheDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "hornlark", "voice")
}
