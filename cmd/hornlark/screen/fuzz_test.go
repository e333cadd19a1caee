package screen

import (
	"testing"
	"time"
)

// FuzzDecoder: whatever a terminal sends, in whatever pieces, it is decoded in step: the memory is bounded, no key is older than its
// bytes, and once it has been waited long enough nothing is left over.
func FuzzDecoder(f *testing.F) {
	for _, seed := range []string{"asdf", "\x1b[A\x1bOB\x1b[5~", "\x1b[200~paste\x1b[201~q", "\x1b]11;rgb:00/00/00\x07", "\x1b\x1b[", "\x1b[[A", "é\xc3", "\r\n\x7f\t \x03", "\x1b[<0;1;1M", "\x1bP+r\x1b\\", "\x1b[200~"} {
		f.Add([]byte(seed), uint8(3), uint8(0))
	}
	layouts := Layouts()
	f.Fuzz(func(t *testing.T, data []byte, piece, layout uint8) {
		d := decoder{layout: layouts[int(layout)%len(layouts)]}
		began := time.Unix(0, 0)
		at, n := began, 0
		emit := func(s Stroke) {
			if n++; s.At.Before(began) || s.At.After(at) {
				t.Fatalf("a stroke of %v was read at %v", s.At, at)
			}
		}
		for len(data) > 0 {
			size := min(len(data), 1+int(piece))
			d.feed(at, data[:size], emit)
			data = data[size:]
			if len(d.buf) > longestSequence {
				t.Fatalf("%d bytes are kept", len(d.buf))
			}
			at = at.Add(time.Millisecond)
		}
		d.expire(emit)
		if len(d.buf) > 0 || d.pasting || d.wait() != 0 {
			t.Fatalf("%q is left over", d.buf)
		}
	})
}
