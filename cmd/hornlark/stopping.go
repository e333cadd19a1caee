package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"sync/atomic"
	"syscall"
	"time"

	"hornlark/cmd/hornlark/screen"
)

// exitStopped is the exit status of whatever was stopped before its end, by Ctrl-C or by a signal: INT, TERM and HUP alike.
const exitStopped = 130

const (
	stopGrace = 100 * time.Millisecond  // that work which looks at its context has to end by itself
	stopLimit = 2500 * time.Millisecond // that what has something to finish has
	stopLook  = 5 * time.Millisecond
)

// stopped is why a command ended before its end.
type stopped struct{ by os.Signal }

// Error says so as it is told.
func (s stopped) Error() string { return "Stopped before the end." }

// stopper turns the signals that ask for an end into the end of a context, and sees to it that the program ends then. What loops or
// waits looks at the context, and ends by itself; what does not is ended where it stands, after a moment. Nothing that is kept is
// harmed by that: records are written in transactions, and files get their names when they are whole.
type stopper struct {
	end       context.CancelCauseFunc
	signals   chan os.Signal
	over      chan struct{}
	unhurried atomic.Int32 // parts that have something to finish
	exit      func()       // ends the program; it must not return
}

// stopperKey finds the stopper in a context.
type stopperKey struct{}

// stoppable gives a context that INT, TERM and HUP end, with a stopped as its cause; the first two of them also if whoever started
// the program had them ignored. lastly is done before the program is ended where it stands. An ABRT or a QUIT gives the terminal
// back and then does what it always does.
func stoppable(lastly func()) (ctx context.Context, release func()) {
	ctx, end := context.WithCancelCause(context.Background())
	s := &stopper{end: end, signals: make(chan os.Signal, 8), over: make(chan struct{}), exit: func() { lastly(); os.Exit(exitStopped) }}
	signal.Notify(s.signals, os.Interrupt, syscall.SIGTERM, syscall.SIGQUIT, syscall.SIGABRT)
	if !signal.Ignored(syscall.SIGHUP) {
		signal.Notify(s.signals, syscall.SIGHUP)
	}
	go s.watch()
	return context.WithValue(ctx, stopperKey{}, s), func() {
		signal.Stop(s.signals)
		close(s.over)
		end(nil)
	}
}

func (s *stopper) watch() {
	for {
		select {
		case <-s.over:
			return
		case by := <-s.signals:
			if by == syscall.SIGQUIT || by == syscall.SIGABRT {
				screen.GiveBack()
				dieOf(by)
				return
			}
			s.end(stopped{by})
			go s.force()
		}
	}
}

// force ends the program once nobody has had anything to finish for a moment, and in any case after stopLimit.
func (s *stopper) force() {
	now := time.Now()
	limit, until := now.Add(stopLimit), now.Add(stopGrace)
	for now.Before(until) && now.Before(limit) {
		select {
		case <-s.over:
			return
		case <-time.After(stopLook):
		}
		if now = time.Now(); s.unhurried.Load() > 0 {
			until = now.Add(stopGrace)
		}
	}
	screen.GiveBack()
	s.exit()
}

// unhurried says that there is something to finish when the program is told to end, such as the log of a sitting: it is not ended
// where it stands until the function that is returned has been called, or stopLimit has passed.
func unhurried(ctx context.Context) (finished func()) {
	s, ok := ctx.Value(stopperKey{}).(*stopper)
	if !ok {
		return func() {}
	}
	s.unhurried.Add(1)
	return func() { s.unhurried.Add(-1) }
}

// wasStopped reports whether a command ended because it was told to. Whatever it then gave for an error is what being told led to,
// unless that is what the command had come to.
func wasStopped(ctx context.Context, err error) bool {
	switch {
	case err == nil:
		return false
	case errors.Is(err, errEndedEarly), errors.Is(err, context.Canceled), errors.As(err, new(stopped)):
		return true
	case errors.Is(err, errNotPassed), errors.Is(err, errStopped), errors.Is(err, errMissed), errors.Is(err, errDiffers):
		return false
	}
	return ctx.Err() != nil
}

// tellStopped is the one plain line about it.
func tellStopped(w io.Writer, err error) {
	line := stopped{}.Error()
	for _, own := range []error{errNotBegun, errVoicesKept, errEndedEarly, errEveningLeft} {
		if errors.Is(err, own) {
			line = own.Error()
		}
	}
	fmt.Fprintln(w, line)
}

// stoppableReader ends reading when its context ends.
type stoppableReader struct {
	ctx context.Context
	io.Reader
}

func (r stoppableReader) Read(p []byte) (int, error) {
	if err := context.Cause(r.ctx); err != nil {
		return 0, err
	}
	return r.Reader.Read(p)
}

// stoppableWriter ends writing when its context ends.
type stoppableWriter struct {
	ctx context.Context
	io.Writer
}

func (w stoppableWriter) Write(p []byte) (int, error) {
	if err := context.Cause(w.ctx); err != nil {
		return 0, err
	}
	return w.Writer.Write(p)
}
