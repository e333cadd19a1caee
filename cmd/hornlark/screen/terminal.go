package screen

import (
	"os"
	"sync"
	"sync/atomic"
	"time"
)

// terminal is the terminal that a screen has taken: its settings as they were found, its output, and the thread that
// reads its keys.
type terminal struct {
	in     *os.File
	opened bool // in is ours to close
	out    *gate
	device device // settings of the platform

	mu      sync.Mutex // guards settings; held while somebody changes them
	raw     bool
	reading sync.Mutex // held by the reader during a read, and by whoever must not be read against
	stop    atomic.Bool
	chunks  chan chunk
}

// chunk is what one read brought.
type chunk struct {
	at   time.Time
	data []byte
}

// take puts the terminal into raw mode.
func (t *terminal) take() error {
	t.mu.Lock()
	defer t.mu.Unlock()
	if err := t.makeRaw(); err != nil {
		return err
	}
	t.raw = true
	return nil
}

// giveBack leaves the terminal as it was found. It may be called at any time, from any goroutine, and more than once.
func (t *terminal) giveBack() {
	t.out.shut()
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.raw {
		t.restore()
		t.raw = false
	}
}

// stages are those that have a terminal.
var stages struct {
	sync.Mutex
	on map[*stage]bool
}

// onStage notes that a stage has its terminal, until the function that it returns is called.
func onStage(st *stage) (left func()) {
	stages.Lock()
	defer stages.Unlock()
	if stages.on == nil {
		stages.on = map[*stage]bool{}
	}
	stages.on[st] = true
	return func() {
		stages.Lock()
		defer stages.Unlock()
		delete(stages.on, st)
	}
}

// GiveBack gives the terminal of every screen back as it was found, for a program that is about to end where it stands.
func GiveBack() {
	stages.Lock()
	defer stages.Unlock()
	for st := range stages.on {
		st.term.giveBack()
	}
}

// endReading tells the reader to stop. It does so within a tenth of a second, by closing chunks.
func (t *terminal) endReading() { t.stop.Store(true) }

func (t *terminal) close() {
	if t.opened {
		_ = t.in.Close()
	}
}
