//go:build linux

package screen

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"os/signal"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	tea "charm.land/bubbletea/v2"
	"github.com/creack/pty"
	"golang.org/x/sys/unix"

	"hornlark/drill"
)

// The tests of this file run the screen in a process of its own on a pseudo-terminal, below a process that does what a
// shell does: it leads the session, gives the terminal to the job, and sees it stop. Without that one the kernel would
// set the terminal right itself when the session ends, and the tests could not fail.

// roleVariable tells this test binary which of these processes it is.
const roleVariable = "HORNLARK_SCREEN_ROLE"

func init() { child = playRole }

// playRole is what a process does that has a role.
func playRole() {
	switch role := os.Getenv(roleVariable); role {
	case "":
		return
	case "shell":
		beShell()
	default:
		beJob(role)
	}
	os.Exit(0)
}

// news is what the processes report, a line of JSON each.
type news struct {
	What    string
	Pid     int           `json:",omitempty"`
	Termios *unix.Termios `json:",omitempty"`
	At      int64         `json:",omitempty"` // of CLOCK_MONOTONIC, ns
	Kind    StrokeKind    `json:",omitempty"`
	Press   drill.Press
	Text    string `json:",omitempty"`
}

var (
	newsLock sync.Mutex
	newsPipe = sync.OnceValue(func() *os.File { return os.NewFile(3, "news") })
)

func tell(n news) {
	newsLock.Lock()
	defer newsLock.Unlock()
	line, _ := json.Marshal(n)
	newsPipe().Write(append(line, '\n'))
}

// monotonic is CLOCK_MONOTONIC, which all processes share.
func monotonic() int64 {
	var ts unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts); err != nil {
		panic(err)
	}
	return ts.Nano()
}

// sharedClock turns the monotonic readings of this process into CLOCK_MONOTONIC.
func sharedClock() func(time.Time) int64 {
	base, ns := time.Now(), monotonic()
	return func(t time.Time) int64 { return ns + int64(t.Sub(base)) }
}

// beShell starts the job whose role is in the next variable, waits for it, and reports what it sees of the terminal.
func beShell() {
	// Caught and not ignored: a job inherits what is ignored. Only taking the terminal back needs SIGTTOU out of the way.
	signal.Notify(make(chan os.Signal, 1), unix.SIGTTIN, unix.SIGTSTP, unix.SIGQUIT)
	signal.Ignore(unix.SIGTTOU)
	look := func() *unix.Termios {
		t, err := unix.IoctlGetTermios(0, unix.TCGETS)
		if err != nil {
			panic(err)
		}
		return t
	}
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), roleVariable+"="+os.Getenv(roleVariable+"_JOB"))
	cmd.Stdin, cmd.Stdout, cmd.Stderr = os.Stdin, os.Stdout, os.Stderr
	cmd.ExtraFiles = []*os.File{newsPipe()}
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true, Foreground: true, Ctty: 0}
	tell(news{What: "before", Termios: look()})
	if err := cmd.Start(); err != nil {
		panic(err)
	}
	pid := cmd.Process.Pid
	tell(news{What: "started", Pid: pid})
	for {
		var status unix.WaitStatus
		if _, err := unix.Wait4(pid, &status, unix.WUNTRACED, nil); err != nil {
			if errors.Is(err, unix.EINTR) {
				continue
			}
			panic(err)
		}
		if status.Stopped() {
			tell(news{What: "stopped", Termios: look()})
			unix.IoctlSetPointerInt(0, unix.TIOCSPGRP, os.Getpid())
			time.Sleep(300 * time.Millisecond) // long enough for the terminal to be looked at
			unix.IoctlSetPointerInt(0, unix.TIOCSPGRP, pid)
			unix.Kill(-pid, unix.SIGCONT)
			continue
		}
		unix.IoctlSetPointerInt(0, unix.TIOCSPGRP, os.Getpid())
		text := fmt.Sprintf("exit %d", status.ExitStatus())
		if status.Signaled() {
			text = "signal " + status.Signal().String()
		}
		tell(news{What: "after", Termios: look(), Text: text})
		return
	}
}

// beJob is the process under test.
func beJob(role string) {
	p := twin(new(testing.B))
	switch role {
	case "wrapped":
		beWrapped()
		return
	case "report":
		_, err := Report{Title: "A report", Lines: strings.Split(strings.Repeat("a line\n", 200), "\n")}.Run(context.Background(), Options{})
		tell(news{What: "end", Text: fmt.Sprint(err)})
		return
	case "list":
		at, err := List{Title: "A list", Lines: strings.Split(strings.Repeat("a line\n", 200), "\n")}.Run(context.Background(), Options{})
		tell(news{What: "end", Text: fmt.Sprint(at, err)})
		return
	case "welcome":
		key, err := Welcome{Front: Front{Choices: []Choice{{"enter", "begin", nil}}}, SoundCheck: func(context.Context) string { return "heard" }}.
			Run(context.Background(), Options{})
		tell(news{What: "end", Text: fmt.Sprintf("%q %v", key.Key, err)})
		return
	}
	s, err := New(options(p))
	if err != nil {
		tell(news{What: "end", Text: err.Error()})
		os.Exit(1)
	}
	if role == "broken" {
		s.stage.page = &brokenPage{after: time.Now().Add(300 * time.Millisecond)}
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		defer s.Guard()
		drive(s, cancel, role == "still")
	}()
	err = s.Run(ctx)
	tell(news{What: "end", Text: fmt.Sprint(err)})
}

// drive shows a new view fifty times a second, or no new one any more after the first few, and reports the strokes.
func drive(s *Screen, cancel func(), still bool) {
	since := sharedClock()
	view := running(s.sitting.profile)
	tick := time.NewTicker(20 * time.Millisecond)
	for n := 0; ; n++ {
		select {
		case stroke, ok := <-s.stage.strokes:
			if !ok {
				return
			}
			tell(news{What: "stroke", At: since(stroke.At), Kind: stroke.Kind, Press: stroke.Press})
			switch {
			case stroke.Kind == Interrupt:
				s.Stop()
			case stroke.Press.Key == "q":
				s.Stop()
			case stroke.Press.Key == "w":
				cancel()
			case stroke.Press.Key == "p":
				panic("the driver has failed")
			}
		case <-tick.C:
			view.At += 20 * time.Millisecond
			for i := range view.Readings {
				view.Readings[i] += float64(n%7-3) * 0.3
			}
			if !still || n <= 5 {
				s.Update(view)
			}
			if n == 5 {
				tell(news{What: "drawn"})
			}
		}
	}
}

// brokenPage panics while it is drawn.
type brokenPage struct{ after time.Time }

func (p *brokenPage) draw(*canvas) {
	if time.Now().After(p.after) {
		panic("the page has failed")
	}
}

// session is a shell and a job on a pseudo-terminal.
type session struct {
	t      testing.TB
	master *os.File
	cmd    *exec.Cmd
	news   chan news
	pid    int
	before *unix.Termios

	mu  sync.Mutex
	out bytes.Buffer
}

func startJob(t testing.TB, role string, size pty.Winsize) *session {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	s := &session{t: t, news: make(chan news, 4096)}
	s.cmd = exec.Command(os.Args[0])
	s.cmd.Env = append(os.Environ(), roleVariable+"=shell", roleVariable+"_JOB="+role, "TERM=xterm-256color", "NO_COLOR=", "LC_ALL=C.UTF-8")
	s.cmd.ExtraFiles = []*os.File{w}
	s.master, err = pty.StartWithSize(s.cmd, &size)
	if err != nil {
		t.Skipf("no pseudo-terminal on this machine: %v", err)
	}
	w.Close()
	go func() {
		buf := make([]byte, 1<<16)
		for {
			n, err := s.master.Read(buf)
			s.mu.Lock()
			if s.out.Len() < 1<<20 {
				s.out.Write(buf[:n])
			}
			s.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	go func() {
		defer close(s.news)
		for lines := bufio.NewScanner(r); lines.Scan(); {
			var n news
			if json.Unmarshal(lines.Bytes(), &n) == nil {
				s.news <- n
			}
		}
	}()
	t.Cleanup(func() {
		s.cmd.Process.Kill()
		if s.pid != 0 {
			unix.Kill(s.pid, unix.SIGKILL)
		}
		s.cmd.Wait()
		s.master.Close()
	})
	s.before = s.await("before").Termios
	s.pid = s.await("started").Pid
	return s
}

// await is the next news of a kind.
func (s *session) await(what string) news {
	s.t.Helper()
	late := time.After(10 * time.Second)
	for {
		select {
		case n, ok := <-s.news:
			if !ok {
				s.t.Fatalf("no %q was reported", what)
			}
			if n.What == what {
				return n
			}
		case <-late:
			out := s.output()
			s.t.Fatalf("no %q after 10 s; the terminal has, at the end: %q", what, out[max(0, len(out)-1000):])
		}
	}
}

func (s *session) output() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.out.String()
}

func (s *session) raw() bool {
	t, err := unix.IoctlGetTermios(int(s.master.Fd()), unix.TCGETS)
	if err != nil {
		s.t.Fatal(err)
	}
	return t.Lflag&(unix.ICANON|unix.ECHO|unix.ISIG) == 0
}

// taken reports whether the terminal is raw and shows the alternate screen, without a cursor.
func (s *session) taken() bool {
	on := privateModes(s.output())
	return s.raw() && on["1049"] && !on["25"] && on["2004"]
}

// eventually waits for something that the processes are still busy with.
func (s *session) eventually(what string, is func() bool) {
	s.t.Helper()
	for end := time.Now().Add(10 * time.Second); !is(); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(end) {
			s.t.Fatalf("it never came to it that %s", what)
		}
	}
}

// privateModes plays the modes of a DEC terminal that were switched on and off in out.
func privateModes(out string) map[string]bool {
	on := map[string]bool{"25": true}
	for _, m := range regexp.MustCompile(`\x1b\[\?([0-9;]+)([hl])`).FindAllStringSubmatch(out, -1) {
		for _, mode := range strings.Split(m[1], ";") {
			on[mode] = m[2] == "h"
		}
	}
	return on
}

// mustBeAsFound checks that the terminal is as it was before the job began.
func (s *session) mustBeAsFound(got *unix.Termios) {
	s.t.Helper()
	if *got != *s.before {
		s.t.Errorf("terminal settings are not as they were found:\n got %+v\nwant %+v", *got, *s.before)
	}
	left := func() (modes []string) {
		for mode, on := range privateModes(s.output()) {
			if on != (mode == "25") {
				modes = append(modes, mode)
			}
		}
		return modes
	}
	for range 20 { // what was written before the news may still be on its way
		if len(left()) == 0 {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	s.t.Errorf("modes %v are not as they were found", left())
}

var usual = pty.Winsize{Cols: 140, Rows: 45}

func TestTerminalIsLeftAsFound(t *testing.T) {
	key := func(keys string) func(*session) {
		return func(s *session) { io.WriteString(s.master, keys) }
	}
	sig := func(number unix.Signal) func(*session) {
		return func(s *session) { unix.Kill(s.pid, number) }
	}
	for _, test := range []struct {
		name, role string
		act        func(*session)
		ends       string // how the job ended
		says       string // somewhere on the terminal afterwards
	}{
		{"end of the sitting", "sitting", key("q"), "exit 0", ""},
		{"end of the context", "sitting", key("w"), "exit 0", ""},
		{"Ctrl-C", "sitting", key("\x03"), "exit 0", ""},
		{"Ctrl-backslash", "sitting", key("\x1c"), "exit 2", "SIGQUIT: quit"},
		{"SIGINT", "sitting", sig(unix.SIGINT), "exit 0", ""},
		{"SIGTERM", "sitting", sig(unix.SIGTERM), "exit 0", ""},
		{"SIGHUP", "sitting", sig(unix.SIGHUP), "exit 0", ""},
		{"SIGQUIT", "sitting", sig(unix.SIGQUIT), "exit 2", "SIGQUIT: quit"},
		{"panic of the driver", "sitting", key("p"), "exit 2", "the driver has failed"},
		{"panic while drawing", "broken", func(*session) {}, "exit 2", "the page has failed"},
		{"end of the report", "report", func(s *session) { s.eventually("it is taken", s.taken); key("\x1b[6~q")(s) }, "exit 0", ""},
		{"first screen left", "welcome", func(s *session) { s.eventually("it is taken", s.taken); key("q")(s) }, "exit 0", ""},
		{"first screen, Ctrl-C", "welcome", func(s *session) { s.eventually("it is taken", s.taken); key("\x03")(s) }, "exit 0", ""},
		{"first screen, SIGHUP", "welcome", func(s *session) { s.eventually("it is taken", s.taken); sig(unix.SIGHUP)(s) }, "exit 0", ""},
		{"list left", "list", func(s *session) { s.eventually("it is taken", s.taken); key("\x1b[Bq")(s) }, "exit 0", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel()
			s := startJob(t, test.role, usual)
			if test.role == "sitting" {
				s.await("drawn")
				s.eventually("the terminal is taken", s.taken)
			}
			test.act(s)
			after := s.await("after")
			s.mustBeAsFound(after.Termios)
			if after.Text != test.ends {
				t.Errorf("the job ended by %s, want %s", after.Text, test.ends)
			}
			s.eventually(fmt.Sprintf("the terminal says %q", test.says), func() bool { return strings.Contains(s.output(), test.says) })
			if test.says != "" && strings.LastIndex(s.output(), "\x1b[?1049l") > strings.LastIndex(s.output(), test.says) {
				t.Errorf("%q went to the alternate screen and is lost", test.says)
			}
		})
	}
}

func TestSignalIsTheErrorOfRun(t *testing.T) {
	s := startJob(t, "sitting", usual)
	s.await("drawn")
	unix.Kill(s.pid, unix.SIGTERM)
	if got := s.await("end").Text; !strings.Contains(got, "terminated") {
		t.Errorf("Run returned %q, want a Signalled", got)
	}
}

func TestSuspendAndContinue(t *testing.T) {
	for name, act := range map[string]func(*session){
		"SIGTSTP": func(s *session) { unix.Kill(s.pid, unix.SIGTSTP) },
		"Ctrl-Z":  func(s *session) { io.WriteString(s.master, "\x1a") },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := startJob(t, "sitting", usual)
			s.await("drawn")
			act(s)
			if got := s.await("stroke").Kind; got != Suspended {
				t.Errorf("first stroke is of kind %v, want Suspended", got)
			}
			s.mustBeAsFound(s.await("stopped").Termios)
			if got := s.await("stroke").Kind; got != Continued {
				t.Errorf("next stroke is of kind %v, want Continued", got)
			}
			s.eventually("the terminal is taken again", s.taken)
			s.eventually("the screen is drawn again", func() bool {
				_, again, _ := strings.Cut(s.output(), "\x1b[?1049l")
				return strings.Contains(again, "First start")
			})
			io.WriteString(s.master, "q")
			s.mustBeAsFound(s.await("after").Termios)
		})
	}
}

func TestKeysThroughTerminal(t *testing.T) {
	s := startJob(t, "sitting", usual)
	s.await("drawn")
	for _, test := range []struct {
		keys string
		want []string
	}{
		{"a", []string{"a"}},
		{"A1!", []string{"shift+a", "1", "shift+1"}},
		{"\r", []string{"enter"}},
		{"\x7f\t ", []string{"backspace", "tab", "space"}},
		{"\x1b", []string{"esc"}},
		{"\x1b[200~asdf\x1b[201~z", []string{"z"}},
	} {
		io.WriteString(s.master, test.keys)
		for _, want := range test.want {
			if got := s.await("stroke"); pressName(got.Press) != want {
				t.Errorf("%q: got %v, want %s", test.keys, pressName(got.Press), want)
			}
		}
	}
}

func pressName(p drill.Press) string {
	if p.Shift {
		return "shift+" + string(p.Key)
	}
	return string(p.Key)
}

func TestResize(t *testing.T) {
	s := startJob(t, "sitting", pty.Winsize{Cols: 60, Rows: 20})
	s.await("drawn")
	s.eventually("the screen says that it is too small", func() bool { return strings.Contains(s.output(), "needs 80") })
	if strings.Contains(s.output(), "OUTSIDE") {
		t.Errorf("a terminal that is too small shows %q", s.output())
	}
	if err := pty.Setsize(s.master, &usual); err != nil {
		t.Fatal(err)
	}
	s.eventually("the sitting is shown", func() bool { return strings.Contains(s.output(), "OUTSIDE") })
}

func TestHangUp(t *testing.T) {
	s := startJob(t, "sitting", usual)
	s.await("drawn")
	s.master.Close()
	if got := s.await("end").Text; got != ErrHungUp.Error() && !strings.Contains(got, "hangup") {
		t.Errorf("Run returned %q, want %q or the signal", got, ErrHungUp)
	}
}

func TestNoTerminal(t *testing.T) {
	null, err := os.Open(os.DevNull)
	if err != nil {
		t.Fatal(err)
	}
	defer null.Close()
	if _, err := New(Options{Profile: twin(t), In: null, Out: null}); !errors.Is(err, ErrNoTerminal) {
		t.Errorf("New on %s: %v, want %v", os.DevNull, err, ErrNoTerminal)
	}
	if _, err := New(Options{Profile: twin(t), Environ: []string{"TERM=dumb"}}); !errors.Is(err, ErrDumb) {
		t.Errorf("New on a dumb terminal: %v, want %v", err, ErrDumb)
	}
	if _, err := New(Options{}); err == nil {
		t.Error("New without a profile makes a screen")
	}
}

// beWrapped is the other way to stamp keys: the terminal library reads them, through a Read that takes the time. It
// draws the same page at the same rate.
func beWrapped() {
	page := newSitting(options(twin(new(testing.B))))
	page.view = *running(page.profile)
	input := &stampingInput{File: os.Stdin, since: sharedClock()}
	st := &stage{page: page}
	program := tea.NewProgram(&drawing{stage: st, canvas: newCanvas(0, 0)}, tea.WithInput(input), tea.WithFPS(framesPerSecond))
	go func() {
		tick := time.NewTicker(20 * time.Millisecond)
		for n := 0; ; n++ {
			<-tick.C
			page.mu.Lock()
			page.view.At += 20 * time.Millisecond
			for i := range page.view.Readings {
				page.view.Readings[i] += float64(n%7-3) * 0.3
			}
			page.mu.Unlock()
			if n%2 == 0 {
				program.Send(refresh{})
			}
			if n == 5 {
				tell(news{What: "drawn"})
			}
		}
	}()
	program.Run()
}

type stampingInput struct {
	*os.File
	since func(time.Time) int64
}

func (f *stampingInput) Read(p []byte) (int, error) {
	n, err := f.File.Read(p)
	at := time.Now()
	for range n {
		tell(news{What: "stroke", At: f.since(at)})
	}
	return n, err
}
