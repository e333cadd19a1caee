//go:build linux || darwin || freebsd || netbsd || openbsd || dragonfly

package screen

import (
	"os"
	"os/signal"
	"sync"
	"time"

	tea "charm.land/bubbletea/v2"
	"golang.org/x/sys/unix"
)

// stopGrace is how long the driver has to notice that the process is about to be stopped.
const stopGrace = 100 * time.Millisecond

// stopSettles is how long the kernel may take to stop every thread.
const stopSettles = 50 * time.Millisecond

// watchSignals sees to it that no signal which can be caught finds the terminal taken. The function that it returns
// ends the watch.
func (st *stage) watchSignals(program *tea.Program) (stop func()) {
	signals := make(chan os.Signal, 8)
	signal.Notify(signals, unix.SIGINT, unix.SIGTERM, unix.SIGHUP, unix.SIGQUIT, unix.SIGABRT, unix.SIGTSTP, unix.SIGCONT)
	ended := make(chan struct{})
	var gone sync.WaitGroup
	gone.Go(func() {
		defer st.guard()
		for {
			select {
			case <-ended:
				return
			case s := <-signals:
				switch {
				case s == unix.SIGTSTP:
					st.suspend(program)
				case s == unix.SIGCONT:
					st.reenter(program)
				case s == unix.SIGQUIT, s == unix.SIGABRT:
					st.quit(s)
				default: // a second one changes nothing: the end takes no longer than patience
					st.end(&Signalled{s})
				}
			}
		}
	})
	return func() {
		// A terminal that hangs up is often noticed before the signal for it comes, which must not cut short what is still to be
		// done: the end of the log, and the report. Nobody listens here; whoever else does still hears it.
		signal.Notify(make(chan os.Signal, 1), unix.SIGHUP)
		signal.Stop(signals)
		close(ended)
		gone.Wait()
	}
}

// quit gives the terminal back and lets a signal do what it does to a program that does not catch it: the Go runtime
// writes the stacks of all goroutines.
func (st *stage) quit(s os.Signal) {
	st.term.giveBack()
	signal.Reset(s)
	_ = unix.Kill(os.Getpid(), s.(unix.Signal))
}

// suspend gives the terminal back, stops the process, and takes the terminal again when it goes on. Once SIGTSTP has
// been caught the Go runtime never gives it its default action again, so it is SIGSTOP that stops.
func (st *stage) suspend(program *tea.Program) {
	if !underShell() {
		return
	}
	st.tell(Suspended)
	if st.term.holdReading() {
		defer st.term.reading.Unlock()
	}
	st.term.giveBack()
	_ = unix.Kill(os.Getpid(), unix.SIGSTOP)
	time.Sleep(stopSettles)
	st.reenter(program)
	st.tell(Continued)
}

// underShell reports whether there is somebody to go on with the process once it has stopped: the leader of the session
// is in another process group, as a shell is that runs jobs.
func underShell() bool {
	session, err := unix.Getsid(0)
	return err == nil && session != unix.Getpgrp()
}

// tell lets the driver know, and waits a moment for it to have listened.
func (st *stage) tell(kind StrokeKind) {
	s := Stroke{At: time.Now(), Kind: kind}
	strokes, inputs := st.strokes, st.inputs
	if inputs != nil {
		strokes = nil
	}
	select {
	case strokes <- s:
	case inputs <- s.input():
	case <-time.After(stopGrace):
		return
	}
	for end := time.Now().Add(stopGrace); len(strokes)+len(inputs) > 0 && time.Now().Before(end); {
		time.Sleep(time.Millisecond)
	}
}

// reenter takes the terminal again, whatever a shell has done to it in the meantime, and draws everything anew.
func (st *stage) reenter(program *tea.Program) {
	if err := st.term.take(); err != nil {
		st.end(err)
		return
	}
	st.term.out.open()
	if width, height, err := st.term.size(); err == nil {
		program.Send(tea.WindowSizeMsg{Width: width, Height: height})
	}
	program.Send(tea.ClearScreen())
}

// raise does what the terminal would have done with a key that raw mode takes from it: the whole job gets the signal.
func raise(key rune) {
	s := unix.SIGTSTP
	if key == ctrlBackslash {
		s = unix.SIGQUIT
	}
	_ = unix.Kill(0, s)
}
