// Package soundtest gives tests a sound server of their own: what a program plays through its default device is
// recorded, with the times at which it came out. It needs pulseaudio, parec and ALSA's plugin for them.
package soundtest

import (
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
)

// Rate is that of recordings, in samples a second.
const Rate = 48000

// Required is the environment variable that, when not empty, makes a missing sound server a failure instead of a
// reason to skip.
const Required = "HORNLARK_SOUND_SERVER"

const sink = "hornlark_test"

// Server is a running sound server with one output that nobody hears.
type Server struct {
	dir string
	cmd *exec.Cmd
}

// Start starts a sound server for the test and stops it at its end. The test is skipped if the machine has none.
func Start(t testing.TB) *Server {
	t.Helper()
	for _, program := range []string{"pulseaudio", "parec", "pactl"} {
		if _, err := exec.LookPath(program); err != nil {
			if os.Getenv(Required) != "" {
				t.Fatalf("%s is set, but %s is not installed", Required, program)
			}
			t.Skipf("%s is not installed (Debian: apt-get install pulseaudio pulseaudio-utils libasound2-plugins)", program)
		}
	}
	// Not t.TempDir: the path of a socket has to be short.
	dir, err := os.MkdirTemp("", "snd")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	s := &Server{dir: dir}
	conf := "</usr/share/alsa/alsa.conf>\npcm.!default { type pulse }\nctl.!default { type pulse }\n"
	if err := os.WriteFile(filepath.Join(dir, "alsa.conf"), []byte(conf), 0o600); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Kill)
	s.launch(t)
	return s
}

// launch starts the server's process and waits until it answers.
func (s *Server) launch(t testing.TB) {
	t.Helper()
	s.cmd = exec.Command("pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1", "--disallow-exit=true",
		"-L", "module-native-protocol-unix socket="+s.socket()+" auth-anonymous=1",
		"-L", "module-null-sink sink_name="+sink+" rate=48000 channels=2")
	s.cmd.Env = append(os.Environ(), "PULSE_RUNTIME_PATH="+s.dir, "PULSE_STATE_PATH="+s.dir, "HOME="+s.dir, "XDG_CONFIG_HOME="+s.dir)
	log, err := os.Create(filepath.Join(s.dir, "log"))
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	s.cmd.Stderr = log
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if err := s.await(10 * time.Second); err != nil {
		text, _ := os.ReadFile(log.Name())
		t.Fatalf("the sound server did not start: %v\n%s", err, text)
	}
}

// Restart starts a server that was killed again, at the same place.
func (s *Server) Restart(t testing.TB) {
	t.Helper()
	os.Remove(s.socket()) // what a crash leaves behind
	s.launch(t)
}

func (s *Server) socket() string { return filepath.Join(s.dir, "native") }

// await waits until the server answers.
func (s *Server) await(limit time.Duration) error {
	var err error
	for began := time.Now(); time.Since(began) < limit; time.Sleep(50 * time.Millisecond) {
		cmd := exec.Command("pactl", "info")
		cmd.Env = append(os.Environ(), s.Env()...)
		if err = cmd.Run(); err == nil {
			return nil
		}
	}
	return err
}

// Env gives the environment variables that make the server the default device of a program.
func (s *Server) Env() []string {
	return []string{
		"PULSE_SERVER=unix:" + s.socket(),
		"PULSE_RUNTIME_PATH=" + s.dir,
		"PULSE_STATE_PATH=" + s.dir,
		"ALSA_CONFIG_PATH=" + filepath.Join(s.dir, "alsa.conf"),
	}
}

// Kill ends the server at once, as a crash would. It is not an error to call it twice.
func (s *Server) Kill() {
	if s.cmd != nil && s.cmd.Process != nil && s.cmd.ProcessState == nil {
		s.cmd.Process.Kill()
		s.cmd.Wait()
	}
}

// Freeze stops the server without ending it, until Thaw.
func (s *Server) Freeze() error { return s.signal("STOP") }

// Thaw lets a frozen server go on.
func (s *Server) Thaw() error { return s.signal("CONT") }

// signal sends signals that package syscall does not have on every platform.
func (s *Server) signal(name string) error {
	return exec.Command("kill", "-"+name, fmt.Sprint(s.cmd.Process.Pid)).Run()
}

// Recorder records what the server plays.
type Recorder struct {
	cmd   *exec.Cmd
	ended sync.WaitGroup
	loud  float32 // if not zero, only the places of sounds that are louder are kept
	apart int     // samples for which a sound is still the same

	mu      sync.Mutex
	samples []float32
	onsets  []int
	count   int // samples so far
	reads   []read
	err     error
}

// read is one piece of the recording.
type read struct {
	at    time.Time
	first int // sample that it begins with
}

// lag is how much later it came than at the nominal rate since zero, in seconds.
func (r read) lag(zero time.Time) float64 { return r.at.Sub(zero).Seconds() - float64(r.first)*nominal }

// nominal is how long a sample lasts, in seconds.
const nominal = 1.0 / Rate

// Record begins a recording and returns once sound is arriving. Stop ends it. The server hands sound to a recording as
// soon as it is mixed, which is up to a piece before it is due: pieces of 1 ms keep that small.
func (s *Server) Record(t testing.TB) *Recorder {
	t.Helper()
	return s.record(t, &Recorder{}, time.Millisecond)
}

// RecordOnsets records only where sounds louder than loud begin, with at least apart samples between them, for runs too
// long to keep. Its pieces are of 5 ms.
func (s *Server) RecordOnsets(t testing.TB, loud float32, apart int) *Recorder {
	t.Helper()
	return s.record(t, &Recorder{loud: loud, apart: apart}, 5*time.Millisecond)
}

func (s *Server) record(t testing.TB, r *Recorder, piece time.Duration) *Recorder {
	t.Helper()
	r.cmd = exec.Command("parec", "--raw", "--device="+sink+".monitor", "--format=float32le",
		fmt.Sprintf("--rate=%d", Rate), "--channels=1", fmt.Sprintf("--latency-msec=%d", piece.Milliseconds()))
	r.cmd.Env = append(os.Environ(), s.Env()...)
	out, err := r.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := r.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.end() })
	r.ended.Go(func() { r.take(out) })
	for began := time.Now(); ; time.Sleep(10 * time.Millisecond) {
		r.mu.Lock()
		arriving := len(r.reads) > 20
		r.mu.Unlock()
		if arriving {
			return r
		}
		if time.Since(began) > 10*time.Second {
			t.Fatal("the recording does not start")
		}
	}
}

func (r *Recorder) take(out io.Reader) {
	buf := make([]byte, 1<<16)
	kept := 0
	for {
		n, err := out.Read(buf[kept:])
		at := time.Now()
		n += kept
		whole := n / 4 * 4
		r.mu.Lock()
		if whole > 0 {
			r.reads = append(r.reads, read{at, r.count})
		}
		for i := 0; i < whole; i += 4 {
			r.keep(math.Float32frombits(binary.LittleEndian.Uint32(buf[i:])))
		}
		r.mu.Unlock()
		kept = copy(buf, buf[whole:n])
		if err != nil {
			if !errors.Is(err, io.EOF) && !errors.Is(err, os.ErrClosed) {
				r.mu.Lock()
				r.err = err
				r.mu.Unlock()
			}
			return
		}
	}
}

// keep takes one sample. The caller holds the lock.
func (r *Recorder) keep(v float32) {
	switch {
	case r.loud == 0:
		r.samples = append(r.samples, v)
	case v < -r.loud || v > r.loud:
		if n := len(r.onsets); n == 0 || r.count-r.onsets[n-1] >= r.apart {
			r.onsets = append(r.onsets, r.count)
		}
	}
	r.count++
}

func (r *Recorder) end() {
	if r.cmd.ProcessState == nil {
		r.cmd.Process.Signal(syscall.SIGTERM)
		r.ended.Wait()
		r.cmd.Wait()
	}
}

// Recording is what was played, one channel.
type Recording struct {
	Samples []float32 // empty after RecordOnsets
	Onsets  []int     // samples, after RecordOnsets
	start   time.Time // when sample 0 came out
	pace    float64   // seconds a sample
}

// Stop ends the recording.
func (r *Recorder) Stop(t testing.TB) Recording {
	t.Helper()
	r.end()
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.err != nil {
		t.Fatal(r.err)
	}
	if len(r.reads) < 2 {
		t.Fatal("nothing was recorded")
	}
	fit := earliest
	if r.loud != 0 {
		fit = typical
	}
	start, pace := fit(r.reads)
	return Recording{r.samples, r.onsets, start, pace}
}

// earliest fits the straight line below all reads: a piece can arrive late, but never before it was played. The line
// touches the earliest read of the first half and that of the second.
func earliest(reads []read) (start time.Time, pace float64) {
	zero := reads[0].at
	least := func(part []read) read {
		best := part[0]
		for _, r := range part {
			if r.lag(zero) < best.lag(zero) {
				best = r
			}
		}
		return best
	}
	a, b := least(reads[:len(reads)/2]), least(reads[len(reads)/2:])
	pace = nominal
	if b.first > a.first {
		pace += (b.lag(zero) - a.lag(zero)) / float64(b.first-a.first)
	}
	offset := a.at.Sub(zero).Seconds() - float64(a.first)*pace
	return zero.Add(time.Duration(offset * float64(time.Second))), pace
}

// typical is for long recordings, in which the earliest reads are those after the machine stood still: the server catches
// up, and is ahead for a moment. The line goes through the medians of up to 60 parts of the recording, by least squares.
func typical(reads []read) (start time.Time, pace float64) {
	zero := reads[0].at
	length := max(1, (len(reads)+59)/60)
	var samples, lags []float64 // the middle of each part
	for part := range slices.Chunk(reads, length) {
		middle := part[len(part)/2]
		samples = append(samples, float64(middle.first))
		part = slices.SortedFunc(slices.Values(part), func(a, b read) int { return cmp.Compare(a.lag(zero), b.lag(zero)) })
		lags = append(lags, part[len(part)/2].lag(zero))
	}
	offset, more := stat.LinearRegression(samples, lags, nil, false)
	return zero.Add(time.Duration(offset * float64(time.Second))), nominal + more
}

// TimeOf gives when a sample came out; after RecordOnsets up to a piece early or late, and always by about as much.
func (r Recording) TimeOf(sample int) time.Time {
	return r.start.Add(time.Duration(float64(sample) * r.pace * float64(time.Second)))
}

// SampleAt gives the sample that came out at t; it may lie outside the recording.
func (r Recording) SampleAt(t time.Time) int {
	return int(math.Round(t.Sub(r.start).Seconds() / r.pace))
}
