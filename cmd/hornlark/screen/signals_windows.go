package screen

import (
	"os"
	"os/signal"
	"sync"
	"syscall"

	tea "charm.land/bubbletea/v2"
)

// watchSignals sees to it that no signal which can be caught finds the console taken. The function that it returns ends
// the watch. Windows turns the closing of the console window into SIGTERM.
func (st *stage) watchSignals(*tea.Program) (stop func()) {
	signals := make(chan os.Signal, 8)
	signal.Notify(signals, os.Interrupt, syscall.SIGTERM)
	ended := make(chan struct{})
	var gone sync.WaitGroup
	gone.Go(func() {
		defer st.guard()
		for {
			select {
			case <-ended:
				return
			case s := <-signals:
				st.end(&Signalled{s})
			}
		}
	})
	return func() {
		signal.Stop(signals)
		close(ended)
		gone.Wait()
	}
}

// raise does nothing: Windows has neither of these signals.
func raise(rune) {}
