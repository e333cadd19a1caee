package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"

	"hornlark/audio"
)

// keyStroke is one byte from the keyboard, stamped as the read that brought it returned.
type keyStroke struct {
	at  time.Time
	key byte
}

const (
	keyEsc   = 0x1b
	keyCtrlC = 0x03
	keyCtrlD = 0x04
)

// withKeys runs work with the keys of the terminal, one by one as they are pressed, and gives the terminal back.
func (c *hearing) withKeys(ctx context.Context, work func(context.Context, <-chan keyStroke) error) error {
	file, ok := c.in.(*os.File)
	if !ok {
		return work(ctx, readKeys(c.in))
	}
	was, err := term.MakeRaw(int(file.Fd()))
	if err != nil {
		return fmt.Errorf("the terminal cannot give single keys: %w", err)
	}
	defer term.Restore(int(file.Fd()), was)
	plain := c.streams.out
	c.streams.out = rawLines{plain}
	defer func() { c.streams.out = plain }()
	return work(ctx, readKeys(file))
}

// rawLines ends lines as a raw terminal wants it.
type rawLines struct{ io.Writer }

func (w rawLines) Write(p []byte) (int, error) {
	for line := range bytes.Lines(p) {
		text, ended := bytes.CutSuffix(line, []byte("\n"))
		if _, err := w.Writer.Write(text); err != nil {
			return 0, err
		}
		if ended {
			own(w.Writer, "\r\n")
		}
	}
	return len(p), nil
}

// readKeys reads keys until the input ends, and then closes the channel. Keys that send more than one byte, such as
// arrows, are dropped. The goroutine may outlive the check by one read: nothing else reads the terminal after it.
func readKeys(in io.Reader) <-chan keyStroke {
	keys := make(chan keyStroke, 64)
	go func() {
		defer close(keys)
		var buf [64]byte
		for {
			n, err := in.Read(buf[:])
			at := time.Now()
			if n > 1 && buf[0] == keyEsc {
				n = 0
			}
			for _, b := range buf[:n] {
				select {
				case keys <- keyStroke{at, b}:
				default: // nobody has read for 64 keys
				}
			}
			if err != nil {
				return
			}
		}
	}()
	return keys
}

// leaves says whether a key ends whatever is going on.
func leaves(key byte) bool {
	return key == 'q' || key == keyEsc || key == keyCtrlC || key == keyCtrlD
}

// byKeys lets the user hear what he likes.
func (c *hearing) byKeys(ctx context.Context, keys <-chan keyStroke) error {
	w := c.streams.out
	fmt.Fprintf(w, "Sound on %s, at %.0f dB. Set the level with the headphones off:\n+ and - play the loudest that a sitting can.\n\n", c.out.Device(), c.level)
	for i, s := range c.samples {
		fmt.Fprintf(w, "  %2d  %-11s %s\n", i+1, s.name, s.what)
	}
	fmt.Fprint(w, "\nEnter next, b back, r again, a all, + louder, - softer, m measure, c calibrate, q leave\n\n")
	at, all := -1, false
	var over <-chan time.Time // when the next of all is due
	play := func(i int) error {
		at = (i + len(c.samples)) % len(c.samples)
		c.announce(c.samples[at])
		length, err := c.start(c.samples[at])
		over = nil
		if all = all && at < len(c.samples)-1; all {
			over = time.After(length + soundGap)
		}
		return err
	}
	turn := func(by float64) error {
		all, over = false, nil
		c.turn(by)
		_, err := c.start(c.samples[0])
		return err
	}
	for {
		var err error
		select {
		case <-ctx.Done():
			return context.Cause(ctx)
		case <-c.out.Reports():
		case <-over:
			err = play(at + 1)
		case k, open := <-keys:
			if !open || leaves(k.key) {
				c.hush()
				return c.keepLevel()
			}
			switch k.key {
			case '\r', '\n', ' ', 'n':
				all = false
				err = play(at + 1)
			case 'b':
				all = false
				err = play(max(at, 1) - 1)
			case 'r':
				all = false
				err = play(max(at, 0))
			case 'a':
				all = true
				err = play(0)
			case '+', '=':
				err = turn(audio.LevelStep)
			case '-', '_':
				err = turn(-audio.LevelStep)
			case 'm':
				c.hush()
				all, over = false, nil
				err = c.show(ctx)
			case 'c':
				c.hush()
				all, over = false, nil
				err = c.calibrate(ctx, keys)
			}
		}
		if err != nil {
			return err
		}
	}
}

// turn changes the level. It is set by the loudest that there is, which is played at the new one.
func (c *hearing) turn(by float64) {
	c.level = min(max(c.level+by, -audio.LevelRange), 0)
	c.keep = true
	c.out.SetLevel(c.level)
	fmt.Fprintf(c.streams.out, "  level %.0f dB\n", c.level)
}

// show measures and tells.
func (c *hearing) show(ctx context.Context) error {
	fmt.Fprintln(c.streams.out, "measuring ...")
	f, err := c.measure(ctx)
	if err != nil {
		return err
	}
	f.describe(c.streams.out)
	return nil
}
