package voice

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"hornlark/audio"
	"hornlark/audio/whole"
	"hornlark/sounds"
)

// How clips are coded. 64 kbit/s carries more than the 8 kHz of speech that the engine gives.
const (
	mp3Kilobits  = 64
	mp3Scale     = "1.0526" // lame multiplies by 0.95 at such rates; this undoes it
	maxCoderSkip = 4000     // frames that coder and decoder may put in front
	matchFrames  = 8192     // that are compared to find how many they did
	minMatch     = 0.9      // correlation of the clip with what was coded
	saveEvery    = 25       // clips after which the manifest is written
)

// RenderAll makes the clip of every phrase in the folder of sounds dir, with flite and lame, and rewrites the manifest
// there. Clips that are there already, whole and not stale, are kept; those that no phrase needs are removed. The same
// phrases give the same files. After an interruption it goes on where it was. progress may be nil.
func RenderAll(ctx context.Context, phrases []Phrase, dir string, progress func(done, total int)) error {
	for _, program := range []string{"flite", "lame"} {
		if _, err := exec.LookPath(program); err != nil {
			return fmt.Errorf("voice: %s is needed to make clips; install it (Debian: apt-get install flite lame)", program)
		}
	}
	files := os.DirFS(dir)
	lexicon, err := LoadLexicon(files, "")
	if err != nil {
		return err
	}
	w := workshop{dir: dir, lexicon: lexicon, made: map[string]Entry{}}
	w.takeStock(files)
	if err := os.MkdirAll(filepath.Join(dir, sounds.Clips), 0o755); err != nil {
		return fmt.Errorf("voice: %w", err)
	}
	var entries []Entry
	phrases = slices.SortedFunc(slices.Values(phrases), func(a, b Phrase) int {
		return cmp.Or(strings.Compare(a.Voice, b.Voice), strings.Compare(a.Text, b.Text))
	})
	phrases = slices.Compact(phrases)
	for i, p := range phrases {
		e, fresh, err := w.entry(ctx, p)
		if err != nil {
			return fmt.Errorf("voice: %s: %q: %w", p.Voice, p.Text, err)
		}
		entries = append(entries, e)
		if fresh && i%saveEvery == 0 {
			if err := writeManifest(dir, entries); err != nil {
				return err
			}
		}
		if progress != nil {
			progress(i+1, len(phrases))
		}
	}
	if err := writeManifest(dir, entries); err != nil {
		return err
	}
	return w.clearOut(entries)
}

// workshop makes clips.
type workshop struct {
	dir     string
	lexicon *Lexicon
	made    map[string]Entry // by key; whole, on disk
}

// takeStock finds the clips of an earlier run that are whole.
func (w *workshop) takeStock(files fs.FS) {
	entries, err := ReadManifest(files)
	if err != nil {
		return // then everything is made anew
	}
	for _, e := range entries {
		data, err := fs.ReadFile(files, sounds.Clips+"/"+e.File)
		if err == nil && sha(data) == e.SHA256 && e.File == clipName(e.Voice, e.Key) {
			w.made[e.Key] = e
		}
	}
}

// clipName is the file of a clip: the voice by what it is for, and the key.
func clipName(voice, key string) string { return voice + "-" + key + ".mp3" }

func sha(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// entry gives the manifest's line of a phrase, and says whether its clip had to be made.
func (w *workshop) entry(ctx context.Context, p Phrase) (e Entry, fresh bool, err error) {
	spoken := w.lexicon.Speak(p.Text)
	if spoken == "" {
		return Entry{}, false, errors.New("nothing in it can be said")
	}
	r := builtIn(p.Voice, 1)
	key := r.key(spoken)
	e, found := w.made[key]
	if !found {
		if e, err = w.render(ctx, p.Voice, r, spoken); err != nil {
			return Entry{}, false, err
		}
		w.made[key] = e
	}
	e.Voice, e.Written = p.Voice, p.Text
	return e, !found, nil
}

// render makes a clip and finds where in the decoded file it begins.
func (w *workshop) render(ctx context.Context, voice string, r recipe, spoken string) (Entry, error) {
	s, err := renderWith(ctx, flite{}, r, spoken)
	if err != nil {
		return Entry{}, err
	}
	data, err := encodeMP3(ctx, s)
	if err != nil {
		return Entry{}, err
	}
	decoded, err := decodeMP3(data, maxClip+maxCoderSkip)
	if err != nil {
		return Entry{}, err
	}
	skip, err := locate(s, decoded)
	if err != nil {
		return Entry{}, err
	}
	key := r.key(spoken)
	e := Entry{
		Key: key, Spoken: spoken, File: clipName(voice, key), SHA256: sha(data),
		Skip: skip, Frames: len(s.PCM), DurationMS: int(s.Duration().Milliseconds()),
		Engine: r.engine, Settings: fmt.Sprintf("%s mp3=%dk", r.settings(), mp3Kilobits),
	}
	return e, whole.Write(filepath.Join(w.dir, sounds.Clips, e.File), data, 0o644)
}

// encodeMP3 codes a clip with lame, with a little silence after it so that the last frame is whole.
func encodeMP3(ctx context.Context, s audio.Sound) ([]byte, error) {
	raw := make([]byte, 0, 2*len(s.PCM)+2*maxCoderSkip)
	for _, v := range s.PCM {
		raw = binary.LittleEndian.AppendUint16(raw, uint16(v))
	}
	raw = append(raw, make([]byte, 2*maxCoderSkip)...)
	cmd := exec.CommandContext(ctx, "lame", "--quiet", "-r", "-s", fmt.Sprint(audio.Rate/1000), "--bitwidth", "16", "--signed",
		"--little-endian", "--resample", fmt.Sprint(audio.Rate/1000), "-m", "m", "--cbr", "-b", fmt.Sprint(mp3Kilobits), "--scale", mp3Scale, "-q", "2", "-t", "--noreplaygain", "-", "-")
	cmd.Stdin = bytes.NewReader(raw)
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("lame: %w: %.200s", err, complaint.String())
	}
	return out, nil
}

// locate finds at which frame of the decoded file the clip begins, by correlating its loudest stretch.
func locate(s audio.Sound, decoded []int16) (int, error) {
	from, n := loudest(s.PCM, matchFrames)
	best, bestAt := 0.0, 0
	for skip := 0; skip <= maxCoderSkip && skip+from+n <= len(decoded); skip++ {
		var xy, yy, xx float64
		for i := range n {
			x, y := float64(s.PCM[from+i]), float64(decoded[skip+from+i])
			xy, yy, xx = xy+float64(x*y), yy+float64(y*y), xx+float64(x*x)
		}
		if c := xy / math.Sqrt(xx*yy); c > best {
			best, bestAt = c, skip
		}
	}
	if best < minMatch || bestAt+len(s.PCM) > len(decoded) {
		return 0, fmt.Errorf("the coded clip does not match (correlation %.2f)", best)
	}
	return bestAt, nil
}

// loudest gives the stretch of at most n samples with the most energy.
func loudest(pcm []int16, n int) (from, length int) {
	n = min(n, len(pcm))
	var sum, best float64
	for i, v := range pcm {
		sum += float64(v) * float64(v)
		if i >= n {
			sum -= float64(pcm[i-n]) * float64(pcm[i-n])
		}
		if i >= n-1 && sum > best {
			best, from = sum, i-n+1
		}
	}
	return from, n
}

func writeManifest(dir string, entries []Entry) error {
	var b bytes.Buffer
	b.WriteString("[")
	for i, e := range entries {
		line, err := json.Marshal(e)
		if err != nil {
			return fmt.Errorf("voice: %w", err)
		}
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
		b.Write(line)
	}
	b.WriteString("\n]\n")
	if err := whole.Write(filepath.Join(dir, sounds.Manifest), b.Bytes(), 0o644); err != nil {
		return fmt.Errorf("voice: %w", err)
	}
	return nil
}

// clearOut removes the clips that no entry names.
func (w *workshop) clearOut(entries []Entry) error {
	needed := map[string]bool{}
	for _, e := range entries {
		needed[e.File] = true
	}
	found, err := filepath.Glob(filepath.Join(w.dir, sounds.Clips, "*.mp3"))
	if err != nil {
		return err
	}
	for _, path := range found {
		if !needed[filepath.Base(path)] {
			if err := os.Remove(path); err != nil {
				return fmt.Errorf("voice: %w", err)
			}
		}
	}
	return nil
}
