package voice

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"hornlark/audio"
	"hornlark/audio/whole"
)

// maxCached is how many clips the cache keeps; the oldest go first.
const maxCached = 4000

// cache keeps clips in a folder, a file each, named by content. A file is 16-bit samples under gzip, whose checksum
// finds a damaged one. A cache that cannot be read or written costs time and nothing else.
type cache struct{ dir string }

func openCache(dir string) cache {
	if dir == "" {
		dir = defaultCacheDir()
	}
	c := cache{dir}
	c.prune()
	return c
}

func (c cache) path(key string) string { return filepath.Join(c.dir, key+".pcm.gz") }

var errNoCache = errors.New("there is no cache folder")

// load gives a clip, or an error if it is not there whole; a damaged one is removed.
func (c cache) load(key string) (audio.Sound, error) {
	if c.dir == "" {
		return audio.Sound{}, errNoCache
	}
	f, err := os.Open(c.path(key))
	if err != nil {
		return audio.Sound{}, err
	}
	s, err := readClip(f)
	f.Close()
	if err != nil {
		os.Remove(c.path(key))
	}
	return s, err
}

// has says whether there is a file for a clip.
func (c cache) has(key string) bool {
	if c.dir == "" {
		return false
	}
	_, err := os.Stat(c.path(key))
	return err == nil
}

func readClip(r io.Reader) (audio.Sound, error) {
	z, err := gzip.NewReader(r)
	if err != nil {
		return audio.Sound{}, err
	}
	data, err := io.ReadAll(io.LimitReader(z, 2*maxClip+1))
	if err != nil {
		return audio.Sound{}, err
	}
	if len(data) == 0 || len(data)%2 != 0 || len(data) > 2*maxClip {
		return audio.Sound{}, errors.New("the clip has an impossible length")
	}
	pcm := make([]int16, len(data)/2)
	for i := range pcm {
		pcm[i] = int16(binary.LittleEndian.Uint16(data[2*i:]))
	}
	return audio.Sound{PCM: pcm}, nil
}

// store keeps a clip. The file appears whole or not at all.
func (c cache) store(key string, s audio.Sound) error {
	if c.dir == "" {
		return errNoCache
	}
	if err := os.MkdirAll(c.dir, 0o700); err != nil {
		return err
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestSpeed)
	if err != nil {
		return err
	}
	data := make([]byte, 0, 2*len(s.PCM))
	for _, v := range s.PCM {
		data = binary.LittleEndian.AppendUint16(data, uint16(v))
	}
	z.Write(data) // into memory: it does not fail
	z.Close()
	return whole.Write(c.path(key), b.Bytes(), 0o600)
}

// prune removes what is over maxCached, and what an interrupted write of an earlier version left behind.
func (c cache) prune() {
	if c.dir == "" {
		return
	}
	entries, err := os.ReadDir(c.dir)
	if err != nil {
		return
	}
	type file struct {
		name string
		at   time.Time
	}
	var kept []file
	for _, e := range entries {
		info, err := e.Info()
		if err != nil {
			continue
		}
		if ok, _ := filepath.Match(".part-*", e.Name()); ok && e.Type().IsRegular() && time.Since(info.ModTime()) > time.Hour {
			os.Remove(filepath.Join(c.dir, e.Name()))
		} else if ok, _ := filepath.Match("*.pcm.gz", e.Name()); ok {
			kept = append(kept, file{e.Name(), info.ModTime()})
		}
	}
	slices.SortFunc(kept, func(a, b file) int { return a.at.Compare(b.at) })
	for i := 0; i < len(kept)-maxCached; i++ {
		os.Remove(filepath.Join(c.dir, kept[i].name))
	}
}
