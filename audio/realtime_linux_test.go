//go:build amd64 || arm64

package audio

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/godbus/dbus/v5"
	"golang.org/x/sys/unix"

	"hornlark/audio/soundtest"
)

// busOfOurOwn starts a message bus for the test, and gives its address.
func busOfOurOwn(t *testing.T) string {
	t.Helper()
	daemon, err := exec.LookPath("dbus-daemon")
	if err != nil {
		if os.Getenv(soundtest.Required) != "" {
			t.Fatalf("%s is set, but dbus-daemon is not installed", soundtest.Required)
		}
		t.Skip("dbus-daemon is not installed (Debian: apt-get install dbus)")
	}
	dir, err := os.MkdirTemp("", "bus") // not t.TempDir: the path of a socket has to be short
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	address := "unix:path=" + filepath.Join(dir, "bus")
	conf := `<busconfig><type>session</type><listen>` + address + `</listen><auth>EXTERNAL</auth>
<policy context="default"><allow user="*"/><allow own="*"/><allow send_type="*"/><allow receive_type="*"/></policy></busconfig>`
	file := filepath.Join(dir, "bus.conf")
	if err := os.WriteFile(file, []byte(conf), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(daemon, "--nofork", "--nopidfile", "--config-file="+file)
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
	for range 100 {
		if conn, err := dbus.Connect(address); err == nil {
			conn.Close()
			return address
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("the message bus did not start")
	return ""
}

// realtimeService answers on a bus as the system's service does, and notes what it is asked.
type realtimeService struct {
	most     int32
	unbroken int64
	refuses  bool

	mu    sync.Mutex
	asked []string
	from  []int // threads
}

// MakeThreadRealtime is called over the bus.
func (s *realtimeService) MakeThreadRealtime(thread uint64, priority uint32) *dbus.Error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.asked = append(s.asked, fmt.Sprintf("priority %d", priority))
	s.from = append(s.from, int(thread))
	if s.refuses {
		return dbus.NewError("org.freedesktop.DBus.Error.AccessDenied", []any{"not for you"})
	}
	return nil
}

// Get is called over the bus for a property.
func (s *realtimeService) Get(_, name string) (dbus.Variant, *dbus.Error) {
	switch name {
	case "MaxRealtimePriority":
		return dbus.MakeVariant(s.most), nil
	case "RTTimeUSecMax":
		return dbus.MakeVariant(s.unbroken), nil
	}
	return dbus.Variant{}, dbus.NewError("org.freedesktop.DBus.Error.UnknownProperty", nil)
}

// serve puts the service on a bus.
func (s *realtimeService) serve(t *testing.T, address string) {
	t.Helper()
	conn, err := dbus.Connect(address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	err = errors.Join(conn.Export(s, realtimePath, realtimeName), conn.Export(s, realtimePath, "org.freedesktop.DBus.Properties"))
	if err != nil {
		t.Fatal(err)
	}
	if reply, err := conn.RequestName(realtimeName, dbus.NameFlagDoNotQueue); err != nil || reply != dbus.RequestNameReplyPrimaryOwner {
		t.Fatalf("the name of the service: %v, %v", reply, err)
	}
}

// questions gives what has been asked so far.
func (s *realtimeService) questions() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return strings.Join(s.asked, ", ")
}

// threads gives who has asked so far.
func (s *realtimeService) threads() []int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]int(nil), s.from...)
}

// keepRealtimeLimit puts the limit back that a grant lowers: it would hold for all tests that follow.
func keepRealtimeLimit(t *testing.T) {
	t.Helper()
	var limit unix.Rlimit
	if err := unix.Getrlimit(unix.RLIMIT_RTTIME, &limit); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { unix.Setrlimit(unix.RLIMIT_RTTIME, &limit) })
}

func TestRealtimePriorityIsAskedFor(t *testing.T) {
	for name, test := range map[string]struct {
		service *realtimeService
		asked   string
		err     string
	}{
		"granted":          {&realtimeService{most: 20, unbroken: 200000}, "priority 5", ""},
		"less is granted":  {&realtimeService{most: 3, unbroken: 200000}, "priority 3", ""},
		"refused":          {&realtimeService{most: 20, unbroken: 200000, refuses: true}, "priority 5", "not for you"},
		"nothing is given": {&realtimeService{}, "", "the service gives a priority of 0 at most"},
	} {
		t.Run(name, func(t *testing.T) {
			keepRealtimeLimit(t)
			address := busOfOurOwn(t)
			test.service.serve(t, address)
			runtime.LockOSThread()
			defer runtime.UnlockOSThread()
			ended := make(chan struct{})
			defer close(ended)
			connect := func(o ...dbus.ConnOption) (*dbus.Conn, error) { return dbus.Connect(address, o...) }
			err := grantRealtime(t.Context(), connect, unix.Gettid(), ended)
			if got := fmt.Sprint(err); test.err == "" && err != nil || !strings.Contains(got, test.err) {
				t.Errorf("error %v, want one with %q", err, test.err)
			}
			if got := test.service.questions(); got != test.asked {
				t.Errorf("the service was asked for %q, want %q", got, test.asked)
			}
			if from := test.service.threads(); len(from) > 0 && from[0] != unix.Gettid() {
				t.Errorf("it was asked for thread %d, want %d", from[0], unix.Gettid())
			}
			var limit unix.Rlimit
			if err := unix.Getrlimit(unix.RLIMIT_RTTIME, &limit); err != nil {
				t.Fatal(err)
			}
			if u := uint64(test.service.unbroken); u > 0 && (limit.Max > u || limit.Cur > u/2) {
				t.Errorf("a realtime thread may run for %d µs, and is ended after %d; want at most %d and %d", limit.Cur, limit.Max, u/2, u)
			}
		})
	}
}

// TestWithoutAMessageBus: that there is no bus, or nobody on it, is found out without harm.
func TestWithoutAMessageBus(t *testing.T) {
	for name, address := range map[string]string{"no bus": "unix:path=/nonexistent/bus", "no service": busOfOurOwn(t)} {
		connect := func(o ...dbus.ConnOption) (*dbus.Conn, error) { return dbus.Connect(address, o...) }
		ctx, cancel := context.WithTimeout(t.Context(), realtimeLimit)
		began := time.Now()
		if err := grantRealtime(ctx, connect, unix.Gettid(), nil); err == nil || time.Since(began) > 2*realtimeLimit {
			t.Errorf("%s: %v after %v", name, err, time.Since(began))
		}
		cancel()
	}
}

// TestTheThreadThatPlaysAsks plays through a sound server, with a system bus of its own: the thread that is to be given priority is
// one of the process that plays, and the sound is as good as without.
func TestTheThreadThatPlaysAsks(t *testing.T) {
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	server := soundtest.Start(t)
	address := busOfOurOwn(t)
	service := &realtimeService{most: 20, unbroken: 200000}
	service.serve(t, address)
	cmd := child(t, "play", append(server.Env(), "DBUS_SYSTEM_BUS_ADDRESS="+address)...)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	defer func() {
		in.Close()
		cmd.Wait()
	}()
	for range 100 {
		if from := service.threads(); len(from) > 0 {
			if _, err := os.Stat(fmt.Sprintf("/proc/%d/task/%d", cmd.Process.Pid, from[0])); err != nil {
				t.Errorf("thread %d is none of the process that plays: %v", from[0], err)
			}
			return
		}
		time.Sleep(100 * time.Millisecond)
	}
	t.Error("nobody asked for priority")
}
