package voice

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"time"

	"github.com/hajimehoshi/go-mp3"

	"hornlark/audio"
	"hornlark/sounds"
)

// Entry is a line of the manifest: a phrase with its clip.
type Entry struct {
	Key        string `json:"key"`         // names the clip by engine, its voice, settings and spoken words
	Voice      string `json:"voice"`       // ours
	Written    string `json:"written"`     // as in the procedure
	Spoken     string `json:"spoken"`      // as it was said
	File       string `json:"file"`        // in the folder of clips
	SHA256     string `json:"sha256"`      // of the file
	Skip       int    `json:"skip_frames"` // that the decoder gives before the clip begins
	Frames     int    `json:"frames"`      // of the clip
	DurationMS int    `json:"duration_ms"` // the same, rounded
	Engine     string `json:"engine"`      // program that said it
	Settings   string `json:"settings"`
}

// Duration gives the length of the clip.
func (e Entry) Duration() time.Duration { return audio.Frame(e.Frames).Duration() }

// ReadManifest gives the clips that files holds.
func ReadManifest(files fs.FS) ([]Entry, error) {
	data, err := fs.ReadFile(files, sounds.Manifest)
	if err != nil {
		return nil, fmt.Errorf("voice: %w", err)
	}
	var entries []Entry
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&entries); err != nil {
		return nil, fmt.Errorf("voice: %s: %w", sounds.Manifest, err)
	}
	return entries, nil
}

// clips finds built-in clips by key.
type clips struct {
	files fs.FS
	byKey map[string]Entry
}

func loadClips(files fs.FS) (clips, error) {
	entries, err := ReadManifest(files)
	if err != nil {
		return clips{}, err
	}
	c := clips{files, make(map[string]Entry, len(entries))}
	for _, e := range entries {
		c.byKey[e.Key] = e
	}
	return c, nil
}

func (c clips) duration(key string) (time.Duration, bool) {
	e, ok := c.byKey[key]
	return e.Duration(), ok
}

func (c clips) sound(key string) (audio.Sound, error) {
	e, ok := c.byKey[key]
	if !ok {
		return audio.Sound{}, fs.ErrNotExist
	}
	data, err := fs.ReadFile(c.files, path.Join(sounds.Clips, e.File))
	if err != nil {
		return audio.Sound{}, err
	}
	x, err := decodeMP3(data, e.Skip+e.Frames)
	if err != nil {
		return audio.Sound{}, fmt.Errorf("%s: %w", e.File, err)
	}
	return cutClip(x, e.Skip, e.Frames)
}

// decodeMP3 gives the first samples of an MP3 file at audio.Rate, at most so many, with what the coder and the decoder put in front.
// It takes them from the decoder itself: a library in between that makes stereo numbers between -1 and 1 of them took as long again
// as a third of the decoding.
func decodeMP3(data []byte, most int) ([]int16, error) {
	d, err := mp3.NewDecoder(onlyRead{bytes.NewReader(data)})
	if err != nil {
		return nil, err
	}
	if d.SampleRate() != audio.Rate {
		return nil, fmt.Errorf("it has %d frames a second; make it with %d", d.SampleRate(), audio.Rate)
	}
	const wide = 4 // bytes of a frame: two channels of 16 bits
	x := make([]int16, 0, max(0, min(most, maxClip+maxCoderSkip)))
	block := make([]byte, 1152*wide) // as much as the decoder has at a time
	for held := 0; len(x) < cap(x); {
		n, err := d.Read(block[held:])
		n += held
		for held = 0; n-held >= wide && len(x) < cap(x); held += wide {
			x = append(x, int16(binary.LittleEndian.Uint16(block[held:])))
		}
		held = copy(block, block[held:n])
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	return x, nil
}

// onlyRead hides that a file can be rewound: the decoder would read all of it once to find its length.
type onlyRead struct{ io.Reader }

// cutClip gives the part of x that is the clip. A millisecond at each end is faded again: the coder smears edges.
func cutClip(x []int16, skip, frames int) (audio.Sound, error) {
	if skip < 0 || frames <= 0 || skip+frames > len(x) {
		return audio.Sound{}, errors.New("the clip is shorter than the manifest says")
	}
	pcm := x[skip : skip+frames : skip+frames]
	for i := range min(edge, frames) {
		fade := float64(i) / edge
		pcm[i] = int16(float64(pcm[i]) * fade)
		pcm[frames-1-i] = int16(float64(pcm[frames-1-i]) * fade)
	}
	return audio.Sound{PCM: pcm}, nil
}
