package score

import (
	"encoding/binary"
	"errors"
	"hash/crc32"
	"math"
)

// packedForm is the first byte of packed trials; another one is another form.
const packedForm = 1

// What is said of a packed trial in its first byte.
const (
	packedRight = 1 << iota
	packedTold
	packedSlow
	packedTimed
)

// ErrPacked is for what PackTrials did not make, or what has been damaged since.
var ErrPacked = errors.New("these are no packed trials")

// PackTrials puts trials into a form to be kept, some five bytes for each that has no reaction and thirteen for each that has one. Every
// text and every par stands in it once. It is exact, and the same trials always come to the same.
func PackTrials(list []Trial) []byte {
	texts, pars := map[string]uint64{}, map[float64]uint64{}
	var words, ofPar, body []byte
	place := func(text string) uint64 {
		at, known := texts[text]
		if !known {
			at = uint64(len(texts))
			texts[text] = at
			words = append(binary.AppendUvarint(words, uint64(len(text))), text...)
		}
		return at
	}
	for i := range list {
		t := &list[i]
		par, known := pars[t.ParMS]
		if !known {
			par = uint64(len(pars))
			pars[t.ParMS] = par
			ofPar = binary.LittleEndian.AppendUint64(ofPar, math.Float64bits(t.ParMS))
		}
		body = append(body, t.packedFlags())
		body = binary.AppendUvarint(body, place(string(t.Kind)))
		body = binary.AppendUvarint(body, place(t.Name))
		body = binary.AppendUvarint(body, par)
		if t.ReactionMS != nil {
			body = binary.LittleEndian.AppendUint64(body, math.Float64bits(*t.ReactionMS))
		}
	}
	out := []byte{packedForm}
	for _, n := range []int{len(texts), len(words), len(pars), len(list)} {
		out = binary.AppendUvarint(out, uint64(n))
	}
	out = append(append(append(out, words...), ofPar...), body...)
	return binary.LittleEndian.AppendUint32(out, crc32.ChecksumIEEE(out))
}

func (t *Trial) packedFlags() (flags byte) {
	for flag, is := range map[byte]bool{packedRight: t.Right, packedTold: t.Told, packedSlow: t.Slow, packedTimed: t.ReactionMS != nil} {
		if is {
			flags |= flag
		}
	}
	return flags
}

// UnpackTrials gives the trials that were packed. The error is ErrPacked.
func UnpackTrials(body []byte) ([]Trial, error) {
	if len(body) < 5 || body[0] != packedForm {
		return nil, ErrPacked
	}
	end := len(body) - 4
	if crc32.ChecksumIEEE(body[:end]) != binary.LittleEndian.Uint32(body[end:]) {
		return nil, ErrPacked
	}
	in := unpacker{rest: body[1:end]}
	texts, words, pars, count := in.number(), in.number(), in.number(), in.number()
	if in.wrong || words > len(in.rest) || texts > words+1 || pars > len(in.rest)/8 || count > len(in.rest) {
		return nil, ErrPacked
	}
	names := in.texts(texts, words)
	par := make([]float64, pars)
	for i := range par {
		par[i] = in.float()
	}
	list, reactions := make([]Trial, count), make([]float64, count)
	for i := range list {
		flags := in.byte()
		kind, name, of := in.number(), in.number(), in.number()
		if in.wrong || kind >= len(names) || name >= len(names) || of >= len(par) {
			return nil, ErrPacked
		}
		list[i] = Trial{
			Kind: TrialKind(names[kind]), Name: names[name], ParMS: par[of],
			Right: flags&packedRight != 0, Told: flags&packedTold != 0, Slow: flags&packedSlow != 0,
		}
		if flags&packedTimed != 0 {
			reactions[i] = in.float()
			list[i].ReactionMS = &reactions[i]
		}
	}
	if in.wrong || len(in.rest) > 0 {
		return nil, ErrPacked
	}
	return list, nil
}

// unpacker takes what was packed, one after the other. Once something is missing all else is nothing.
type unpacker struct {
	rest  []byte
	wrong bool
}

// take takes so many bytes; nil if there are not.
func (u *unpacker) take(n int) []byte {
	if u.wrong || n < 0 || n > len(u.rest) {
		u.wrong = true
		return nil
	}
	taken := u.rest[:n]
	u.rest = u.rest[n:]
	return taken
}

func (u *unpacker) byte() byte {
	if b := u.take(1); b != nil {
		return b[0]
	}
	return 0
}

// number is a whole number that counts or places something.
func (u *unpacker) number() int {
	v, n := binary.Uvarint(u.rest)
	if u.take(n) == nil || n <= 0 || v > math.MaxInt32 {
		u.wrong = true
		return 0
	}
	return int(v)
}

func (u *unpacker) float() float64 {
	if b := u.take(8); b != nil {
		return math.Float64frombits(binary.LittleEndian.Uint64(b))
	}
	return 0
}

// texts takes so many texts that take so many bytes together. They share one.
func (u *unpacker) texts(count, size int) []string {
	words := unpacker{rest: u.take(size)}
	all := string(words.rest)
	names := make([]string, count)
	for i := range names {
		n := words.number()
		from := len(all) - len(words.rest)
		if words.take(n) == nil && n > 0 {
			break
		}
		names[i] = all[from : from+n]
	}
	u.wrong = u.wrong || words.wrong || len(words.rest) > 0
	return names
}
