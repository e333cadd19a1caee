package screen

import (
	"fmt"
	"os"
	"runtime"
	"time"
	"unicode/utf16"
	"unicode/utf8"

	consoles "github.com/charmbracelet/x/windows"
	"golang.org/x/sys/windows"
	"golang.org/x/term"
)

// device is what was found of a Windows console.
type device struct {
	input windows.Handle
	found *term.State
}

// readTick is how long a read waits before it comes back with nothing, so that the reader can be stopped.
const readTick = 100 * time.Millisecond

// openTerminal finds the console without changing it.
func openTerminal(in, out *os.File) (*terminal, error) {
	t := &terminal{in: in, out: &gate{File: out}, chunks: make(chan chunk, 64)}
	if !term.IsTerminal(int(out.Fd())) {
		return nil, ErrNoTerminal
	}
	if !term.IsTerminal(int(in.Fd())) {
		console, err := os.OpenFile("CONIN$", os.O_RDWR, 0)
		if err != nil {
			return nil, ErrNoTerminal
		}
		t.in, t.opened = console, true
	}
	t.device.input = windows.Handle(t.in.Fd())
	found, err := term.GetState(int(t.in.Fd()))
	if err != nil {
		t.close()
		return nil, ErrNoTerminal
	}
	t.device.found = found
	return t, nil
}

// makeRaw hands every key over as it is pressed, the arrows as the sequences that other terminals send.
func (t *terminal) makeRaw() error {
	if _, err := term.MakeRaw(int(t.in.Fd())); err != nil {
		return fmt.Errorf("taking the console: %w", err)
	}
	var mode uint32
	if err := windows.GetConsoleMode(t.device.input, &mode); err != nil {
		return fmt.Errorf("taking the console: %w", err)
	}
	if err := windows.SetConsoleMode(t.device.input, mode|windows.ENABLE_VIRTUAL_TERMINAL_INPUT); err != nil {
		return fmt.Errorf("taking the console: %w", err)
	}
	return nil
}

// restore sets what was found, and drops keys that nobody has read.
func (t *terminal) restore() {
	_ = consoles.FlushConsoleInputBuffer(t.device.input)
	_ = term.Restore(int(t.in.Fd()), t.device.found)
}

// read is the reader: one thread that waits for the console and takes the time as soon as it has events. It reads
// events and not text, because reading text would wait for a key once it has begun.
func (t *terminal) read() {
	runtime.LockOSThread()
	defer close(t.chunks)
	var events [64]consoles.InputRecord
	var half uint16 // first half of a character of two
	for !t.stop.Load() {
		got, err := windows.WaitForSingleObject(t.device.input, uint32(readTick/time.Millisecond))
		at := time.Now()
		if err != nil {
			return
		}
		if got != windows.WAIT_OBJECT_0 {
			continue
		}
		var n uint32
		if err := consoles.ReadConsoleInput(t.device.input, &events[0], uint32(len(events)), &n); err != nil {
			return
		}
		var data []byte
		for i := range events[:n] {
			data = append(data, keyText(&events[i], &half)...)
		}
		if len(data) > 0 {
			t.chunks <- chunk{at, data}
		}
	}
}

// keyText is what a key event types, nothing for any other event.
func keyText(event *consoles.InputRecord, half *uint16) []byte {
	if event.EventType != consoles.KEY_EVENT {
		return nil
	}
	key := event.KeyEvent()
	unit := uint16(key.Char)
	if !key.KeyDown || unit == 0 {
		return nil
	}
	if utf16.IsSurrogate(rune(unit)) && *half == 0 {
		*half = unit
		return nil
	}
	char := rune(unit)
	if *half != 0 {
		char = utf16.DecodeRune(rune(*half), char)
		*half = 0
	}
	var text []byte
	for range max(1, key.RepeatCount) {
		text = utf8.AppendRune(text, char)
	}
	return text
}
