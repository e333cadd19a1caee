package audio

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

const (
	wavHeaderBytes = 44
	wavMaxBytes    = 1<<32 - 1 - wavHeaderBytes // of samples: sizes in the header have 32 bits
	wavPatchFrames = 5 * Rate                   // the header is brought up to date so often
)

// wavWriter writes a WAV file of one channel with 16-bit samples at Rate. Its header is brought up to date every few
// seconds, so that the file of a sitting that was killed can still be played. After an error it writes no more.
type wavWriter struct {
	file    io.WriteSeeker
	buf     *bufio.Writer
	bytes   int64 // of samples
	patched int64 // bytes that the header knows of
	err     error
}

func newWAVWriter(file io.WriteSeeker) (*wavWriter, error) {
	w := &wavWriter{file: file, buf: bufio.NewWriterSize(file, 1<<16)}
	if _, err := w.buf.Write(wavHeader(0)); err != nil {
		return nil, wavError(err)
	}
	if err := w.buf.Flush(); err != nil {
		return nil, wavError(err)
	}
	return w, nil
}

func wavError(err error) error {
	return fmt.Errorf("the WAV file ends early: %w", err)
}

func (w *wavWriter) write(pcm []int16) error {
	if w.err != nil {
		return w.err
	}
	if w.bytes+int64(2*len(pcm)) > wavMaxBytes {
		return w.fail(errors.New("a WAV file holds 4 GiB at most"))
	}
	var b [2]byte
	for _, v := range pcm {
		binary.LittleEndian.PutUint16(b[:], uint16(v))
		if _, err := w.buf.Write(b[:]); err != nil {
			return w.fail(err)
		}
	}
	w.bytes += int64(2 * len(pcm))
	if w.bytes-w.patched >= 2*wavPatchFrames {
		return w.patch()
	}
	return nil
}

// patch writes what is buffered and brings the header up to date.
func (w *wavWriter) patch() error {
	if err := w.buf.Flush(); err != nil {
		return w.fail(err)
	}
	if _, err := w.file.Seek(0, io.SeekStart); err != nil {
		return w.fail(err)
	}
	if _, err := w.file.Write(wavHeader(uint32(w.bytes))); err != nil {
		return w.fail(err)
	}
	if _, err := w.file.Seek(0, io.SeekEnd); err != nil {
		return w.fail(err)
	}
	w.patched = w.bytes
	return nil
}

func (w *wavWriter) fail(err error) error {
	w.err = wavError(err)
	return w.err
}

// close completes the header. It does not close the file, which belongs to whoever opened it.
func (w *wavWriter) close() error {
	if w.err != nil {
		return w.err
	}
	return w.patch()
}

// wavHeader is that of RIFF WAVE, format 1 (PCM): Multimedia Programming Interface and Data Specifications 1.0 (1991).
func wavHeader(bytes uint32) []byte {
	const channels, width = 1, 2
	h := make([]byte, 0, wavHeaderBytes)
	h = append(h, "RIFF"...)
	h = binary.LittleEndian.AppendUint32(h, wavHeaderBytes-8+bytes)
	h = append(h, "WAVEfmt "...)
	h = binary.LittleEndian.AppendUint32(h, 16)
	h = binary.LittleEndian.AppendUint16(h, 1)
	h = binary.LittleEndian.AppendUint16(h, channels)
	h = binary.LittleEndian.AppendUint32(h, Rate)
	h = binary.LittleEndian.AppendUint32(h, Rate*channels*width)
	h = binary.LittleEndian.AppendUint16(h, channels*width)
	h = binary.LittleEndian.AppendUint16(h, 8*width)
	h = append(h, "data"...)
	return binary.LittleEndian.AppendUint32(h, bytes)
}

// sample16 is what the loudspeaker's library makes of a sample, so that a file holds what was heard.
func sample16(v float64) int16 {
	return int16(min(max(v, -1), 1) * 32767)
}
