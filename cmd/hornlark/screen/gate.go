package screen

import (
	"bytes"
	"os"
	"sync"
	"time"
)

// mode is something about the terminal that is switched by a sequence and has to be switched back.
type mode struct{ set, reset []byte }

// The modes that drawing may switch, in the order in which they are switched back.
var modes = [...]mode{
	{[]byte("\x1b[?2026h"), []byte("\x1b[?2026l")}, // synchronised output
	{[]byte("\x1b[?2004h"), []byte("\x1b[?2004l")}, // bracketed paste
	{[]byte("\x1b[?1049h"), []byte("\x1b[?1049l")}, // alternate screen
	{[]byte("\x1b[?25l"), []byte("\x1b[?25h")},     // hidden cursor
}

var plainText = []byte("\x1b[m")

// gate is the terminal's output. It knows which modes have been switched, so that it can put the terminal back at any
// moment without the help of whoever was drawing, and lets nothing through once it has been shut.
type gate struct {
	*os.File
	mu   sync.Mutex
	on   [len(modes)]bool
	away bool
}

// Write passes a frame on. While the gate is shut the frame is dropped, which is no error: whoever draws need not know.
func (g *gate) Write(p []byte) (int, error) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if g.away {
		return len(p), nil
	}
	for i, m := range modes {
		set, reset := bytes.LastIndex(p, m.set), bytes.LastIndex(p, m.reset)
		if set != reset {
			g.on[i] = set > reset
		}
	}
	return g.File.Write(p)
}

// shut switches back what is switched and closes the gate. A terminal that takes no more output must not keep the
// program from ending, so shut waits for a frame under way only for a moment; it reports whether it got through.
func (g *gate) shut() bool {
	for range 100 {
		if g.mu.TryLock() {
			defer g.mu.Unlock()
			g.putBack()
			return true
		}
		time.Sleep(5 * time.Millisecond)
	}
	return false
}

func (g *gate) putBack() {
	if g.away {
		return
	}
	g.away = true
	var out []byte
	for i, m := range modes {
		if g.on[i] {
			out = append(out, m.reset...)
		}
	}
	if out != nil {
		_, _ = g.File.Write(append(plainText[:len(plainText):len(plainText)], out...))
	}
}

// open switches everything to what it was when the gate was shut, and lets output through again.
func (g *gate) open() {
	g.mu.Lock()
	defer g.mu.Unlock()
	if !g.away {
		return
	}
	g.away = false
	var out []byte
	for i := len(modes) - 1; i >= 0; i-- {
		if g.on[i] {
			out = append(out, modes[i].set...)
		}
	}
	_, _ = g.File.Write(out)
}
