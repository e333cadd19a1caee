package practice

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"math"
	"time"

	"hornlark/drill/score"
)

// Model is the version of what a sitting leaves behind: of Learn, GradeOf, the formulas of Memory and how weights are fitted. Whoever changes
// what these come to raises it; snapshots of before are not taken then.
const Model = 2

// Snapshot is what is known at a moment, with what it was made of: whoever keeps one can tell whether it still holds, and take in only
// what has been added since.
type Snapshot struct {
	Known    *Known
	Rules    int      // of the score that judged the sittings
	Sittings [32]byte // a hash of those that are in it, in their order; how many there are is Known.Count
}

// snapshotForm is the first byte of a packed snapshot; another one is another form.
const snapshotForm = 2

// ErrSnapshot is for what Pack did not make, for what has been damaged since, and for what another model made.
var ErrSnapshot = errors.New("this is no snapshot of what is known")

// Pack puts a snapshot into a form to be kept. It is exact, and the same always comes to the same.
func (s *Snapshot) Pack() []byte {
	k := s.Known
	out := []byte{snapshotForm}
	out = binary.AppendVarint(out, Model)
	out = binary.AppendVarint(out, int64(s.Rules))
	out = append(out, s.Sittings[:]...)
	for _, list := range [2]*Weights{&k.Prior, &k.Weights} {
		for _, w := range list {
			out = appendFloat(out, w)
		}
	}
	out = k.Said.append(k.Fit.append(out))
	out = appendTime(out, k.Until)
	out = binary.AppendVarint(out, int64(k.Count))
	things := k.Things()
	out = binary.AppendUvarint(out, uint64(len(things)))
	for _, t := range things {
		out = appendText(appendText(appendText(out, string(t.Kind)), t.Of), t.Name)
		out = k.States[t].append(out)
	}
	return binary.LittleEndian.AppendUint32(out, crc32.ChecksumIEEE(out))
}

func (s *State) append(out []byte) []byte {
	out = appendFloat(appendFloat(out, s.Stability), s.Difficulty)
	out = appendTime(out, s.Last)
	out = binary.AppendVarint(binary.AppendVarint(out, int64(s.Met)), int64(s.Right))
	out = binary.AppendUvarint(out, uint64(len(s.Recent)))
	for _, right := range s.Recent {
		out = append(out, bit(right))
	}
	return out
}

func (f *Fit) append(out []byte) []byte {
	out = binary.AppendVarint(binary.AppendVarint(out, int64(f.Looks)), int64(f.Held))
	return append(appendFloat(appendFloat(out, f.Before), f.After), bit(f.Used))
}

func (c *Calibration) append(out []byte) []byte {
	out = appendFloat(binary.AppendVarint(out, int64(c.Looks)), c.Squares)
	for i := range c.Bins {
		b := &c.Bins[i]
		out = appendFloat(binary.AppendVarint(binary.AppendVarint(out, int64(b.Looks)), int64(b.Right)), b.Sum)
	}
	return out
}

func bit(is bool) byte {
	if is {
		return 1
	}
	return 0
}

func appendFloat(out []byte, v float64) []byte {
	return binary.LittleEndian.AppendUint64(out, math.Float64bits(v))
}

// appendTime packs an instant to the nanosecond. The zero time is none of those.
func appendTime(out []byte, t time.Time) []byte {
	if t.IsZero() {
		return append(out, 0)
	}
	return binary.LittleEndian.AppendUint64(append(out, 1), uint64(t.UnixNano()))
}

func appendText(out []byte, text string) []byte {
	return append(binary.AppendUvarint(out, uint64(len(text))), text...)
}

// UnpackSnapshot gives the snapshot that was packed. The error is ErrSnapshot.
func UnpackSnapshot(body []byte) (*Snapshot, error) {
	end := len(body) - 4
	if end < 1 || body[0] != snapshotForm || crc32.ChecksumIEEE(body[:end]) != binary.LittleEndian.Uint32(body[end:]) {
		return nil, ErrSnapshot
	}
	in := snapshotReader{in: bytes.NewReader(body[1:end]), texts: map[string]string{}}
	if in.number() != Model {
		return nil, ErrSnapshot
	}
	s := &Snapshot{Rules: in.number(), Known: NewKnown(Weights{})}
	k := s.Known
	in.read(s.Sittings[:])
	for _, list := range [2]*Weights{&k.Prior, &k.Weights} {
		for i := range list {
			list[i] = in.float()
		}
	}
	k.Fit = Fit{Looks: in.number(), Held: in.number(), Before: in.float(), After: in.float(), Used: in.byte() == 1}
	k.Said.Looks, k.Said.Squares = in.number(), in.float()
	for i := range k.Said.Bins {
		k.Said.Bins[i] = Bin{Looks: in.number(), Right: in.number(), Sum: in.float()}
	}
	k.Until, k.Count = in.time(), in.number()
	for range in.count() {
		t := Thing{Kind: score.TrialKind(in.text()), Of: in.text(), Name: in.text()}
		st := &State{Memory: Memory{Stability: in.float(), Difficulty: in.float()}, Last: in.time(), Met: in.number(), Right: in.number()}
		if n := in.count(); n > 0 {
			st.Recent = make([]bool, n, max(n, RecentMost))
			for i := range st.Recent {
				st.Recent[i] = in.byte() == 1
			}
		}
		if in.wrong {
			return nil, ErrSnapshot
		}
		k.States[t] = st
	}
	if in.wrong || in.in.Len() > 0 {
		return nil, ErrSnapshot
	}
	return s, nil
}

// snapshotReader takes what was packed, one after the other. Once something is missing it says so, and all else is nothing.
type snapshotReader struct {
	in    *bytes.Reader
	texts map[string]string // each once
	word  []byte
	wrong bool
}

func (r *snapshotReader) read(into []byte) {
	n, _ := r.in.Read(into)
	r.wrong = r.wrong || n < len(into)
}

func (r *snapshotReader) byte() byte {
	b, err := r.in.ReadByte()
	r.wrong = r.wrong || err != nil
	return b
}

func (r *snapshotReader) number() int {
	v, err := binary.ReadVarint(r.in)
	r.wrong = r.wrong || err != nil
	return int(v)
}

// count is how many follow, each of which takes a byte at least.
func (r *snapshotReader) count() int {
	v, err := binary.ReadUvarint(r.in)
	if r.wrong = r.wrong || err != nil || v > uint64(r.in.Len()); r.wrong {
		return 0
	}
	return int(v)
}

func (r *snapshotReader) float() float64 {
	var b [8]byte
	r.read(b[:])
	return math.Float64frombits(binary.LittleEndian.Uint64(b[:]))
}

func (r *snapshotReader) time() time.Time {
	if r.byte() == 0 {
		return time.Time{}
	}
	var b [8]byte
	r.read(b[:])
	return time.Unix(0, int64(binary.LittleEndian.Uint64(b[:])))
}

func (r *snapshotReader) text() string {
	n := r.count()
	if n == 0 {
		return ""
	}
	r.word = append(r.word[:0], make([]byte, n)...)
	r.read(r.word)
	text, known := r.texts[string(r.word)]
	if !known {
		text = string(r.word)
		r.texts[text] = text
	}
	return text
}
