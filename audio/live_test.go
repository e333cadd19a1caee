package audio

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"hornlark/audio/soundtest"
	"hornlark/scripts/ownhome"
)

// A process can open the loudspeaker once: whatever is tested with it runs in a process of its own, which is this test
// binary with childVar set to what it is to do.
const childVar = "HORNLARK_AUDIO_CHILD"

func TestMain(m *testing.M) {
	if task := os.Getenv(childVar); task != "" {
		if err := children[task](); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	ownhome.Main(m)
}

var children = map[string]func() error{
	"clicks": playClicks,
	"play":   playUntilTold,
}

func child(t *testing.T, task string, env ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(append(os.Environ(), childVar+"="+task), env...)
	cmd.Stderr = os.Stderr
	return cmd
}

func requireLinux(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("the private sound server is reached through ALSA, which is Linux's")
	}
}

// click is short and steep: its onset can be found to the sample.
func click() Sound {
	pcm := make([]int16, Rate/200)
	for i := range pcm {
		pcm[i] = int16(12000 * math.Cos(2*math.Pi*3000*float64(i)/Rate))
	}
	return Sound{pcm}
}

// clickRun is what the child tells of its clicks.
type clickRun struct {
	Onsets []int64 // by the clock of the machine, ns since 1970
	Asked  []int64 // the same, as asked for
	Health Health
	Device string
	Notice string
	stalls []stall // of the machine meanwhile, of 10 ms and more
}

func playClicks() error {
	buffer, err := time.ParseDuration(os.Getenv("BUFFER"))
	if err != nil {
		return err
	}
	count, err := strconv.Atoi(os.Getenv("COUNT"))
	if err != nil {
		return err
	}
	out, err := Open(Options{Buffer: buffer, Grow: os.Getenv("GROW") != "", Early: os.Getenv("EARLY") != ""})
	if err != nil {
		return err
	}
	t0 := time.Now()
	out.Begin(t0)
	rng := rand.New(rand.NewPCG(1, 2))
	run := clickRun{Onsets: make([]int64, count), Asked: make([]int64, count), Device: out.Device(), Notice: out.Notice()}
	for i := range count {
		time.Sleep(time.Duration(rng.IntN(60))*time.Millisecond + time.Duration(rng.IntN(1e6)))
		due := time.Since(t0)
		if os.Getenv("LEAD") != "none" {
			due += out.Lead()
		}
		run.Asked[i] = t0.Add(due).UnixNano()
		if err := out.Play(Cue{ID: i, Due: due, Sound: click()}); err != nil {
			return err
		}
		r := <-out.Reports()
		run.Onsets[r.Cue] = t0.Add(r.Onset).UnixNano()
	}
	run.Health = out.Health()
	if err := out.Close(); err != nil {
		return err
	}
	time.Sleep(200 * time.Millisecond)
	return json.NewEncoder(os.Stdout).Encode(run)
}

// clicksThrough has a child play clicks through a sound server of the test, and gives what it told and what was heard. Where the two do not
// come to the same number it is done once more: a recorder can lose a stretch too.
func clicksThrough(t *testing.T, buffer time.Duration, env ...string) (run clickRun, heard []time.Time) {
	t.Helper()
	requireLinux(t)
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	for range 2 {
		if run, heard = clicksOnce(t, buffer, env...); len(heard) == len(run.Onsets) {
			return run, heard
		}
		t.Logf("heard %d clicks, want %d; health %+v", len(heard), len(run.Onsets), run.Health)
	}
	t.Fatal("so it was twice")
	return run, heard
}

func clicksOnce(t *testing.T, buffer time.Duration, env ...string) (run clickRun, heard []time.Time) {
	t.Helper()
	server := soundtest.Start(t)
	recorder := server.Record(t)
	stop := make(chan struct{})
	stalls := watchMachine(10*time.Millisecond, stop)
	cmd := child(t, "clicks", append(append(server.Env(), "BUFFER="+buffer.String()), env...)...)
	data, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	recording := recorder.Stop(t)
	if err := json.Unmarshal(data, &run); err != nil {
		t.Fatalf("%v: %s", err, data)
	}
	close(stop)
	run.stalls = <-stalls
	if run.Notice != "" {
		t.Fatalf("notice: %s", run.Notice)
	}
	for _, sample := range clicksIn(recording.Samples) {
		heard = append(heard, recording.TimeOf(sample))
	}
	if n := run.Health.Underruns; n > 0 {
		t.Skipf("the machine is too busy to keep the pace of sound: %d underruns", n)
	}
	return run, heard
}

// stall is a time in which the machine did not let go on what had asked for two milliseconds of sleep.
type stall struct {
	until  time.Time
	lasted time.Duration
}

// watchMachine notes every stall of worth and more until stop is closed.
func watchMachine(worth time.Duration, stop <-chan struct{}) <-chan []stall {
	found := make(chan []stall, 1)
	go func() {
		var stalls []stall
		for last := time.Now(); ; {
			select {
			case <-stop:
				found <- stalls
				return
			default:
			}
			time.Sleep(2 * time.Millisecond)
			now := time.Now()
			if lasted := now.Sub(last); lasted >= worth {
				stalls = append(stalls, stall{now, lasted})
			}
			last = now
		}
	}()
	return found
}

// tellStalls says how often the machine stood still, and for how long at the most.
func tellStalls(stalls []stall) string {
	longest := time.Duration(0)
	for _, s := range stalls {
		longest = max(longest, s.lasted)
	}
	return fmt.Sprintf("the machine stood still %d times, up to %v", len(stalls), longest)
}

// cuesVar sets how many cues the onsets of each buffer are measured with; the full measurement takes 500.
const cuesVar = "HORNLARK_CUES"

// TestOnsetsAgreeWithACapture plays clicks through a real sound server at each buffer size that is offered, and compares
// the reported onsets with those in a recording of the server's output.
func TestOnsetsAgreeWithACapture(t *testing.T) {
	count := cmp.Or(os.Getenv(cuesVar), "60")
	for _, buffer := range Buffers() {
		t.Run(buffer.String(), func(t *testing.T) {
			// A sound server that is still finding its pace can be beyond the limit once; reports that are wrong are so again.
			if worst := onsetsOff(t, buffer, count); worst > 2 {
				if again := onsetsOff(t, buffer, count); again > 2 {
					t.Errorf("99 of 100 reports are within %.2f ms of the recording, and measured again within %.2f, want 2", worst, again)
				}
			}
		})
	}
}

// onsetsOff plays so many clicks, and gives within how many milliseconds of the recording 99 of 100 reported onsets are. On a machine too busy to
// tell it skips the test.
func onsetsOff(t *testing.T, buffer time.Duration, count string) float64 {
	run, heard := clicksThrough(t, buffer, "COUNT="+count)
	var off, late []float64
	for i, at := range heard {
		off = append(off, float64(run.Onsets[i]-at.UnixNano())/1e6)
		late = append(late, float64(at.UnixNano()-run.Asked[i])/1e6)
	}
	mean, sd := meanAndSD(off)
	worst := quantile(distances(off, 0), 0.99)
	t.Logf("%s cues, reported minus captured: mean %.2f, sd %.2f ms; absolute: median %.2f, p99 %.2f ms; captured minus asked for: median %.2f ms; health %+v",
		count, mean, sd, quantile(distances(off, 0), 0.5), worst, quantile(late, 0.5), run.Health)
	if !run.Health.Good {
		t.Skipf("the machine is too busy to keep the pace of sound: %s", run.Health.Why)
	}
	if worst > 2 && len(run.stalls) > 0 { // then the clock of the recording is no better
		t.Skipf("99 of 100 reports are within %.2f ms, which says nothing: %s", worst, tellStalls(run.stalls))
	}
	return worst
}

// TestACueIsHeardSoon plays cues that are due at once, as those that answer a press are.
func TestACueIsHeardSoon(t *testing.T) {
	run, heard := clicksThrough(t, DefaultBuffer, "COUNT=60", "LEAD=none")
	var delay []float64
	for i, at := range heard {
		delay = append(delay, float64(at.UnixNano()-run.Asked[i])/1e6)
	}
	t.Logf("from asking to hearing: median %.1f, p99 %.1f ms", quantile(delay, 0.5), quantile(delay, 0.99))
	if !run.Health.Good {
		t.Skipf("the machine is too busy to keep the pace of sound: %s", run.Health.Why)
	}
	if median := quantile(delay, 0.5); median > 60 {
		t.Errorf("a cue that is due at once is heard after %.1f ms, want 60", median)
	}
}

func clicksIn(samples []float32) []int {
	var at []int
	for i := 0; i < len(samples); i++ {
		if math.Abs(float64(samples[i])) > 0.1 {
			at = append(at, i)
			i += Rate / 50
		}
	}
	return at
}

func meanAndSD(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean) / float64(len(x))
	}
	return mean, math.Sqrt(sd)
}

func distances(x []float64, from float64) []float64 {
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = math.Abs(v - from)
	}
	return d
}

func quantile(x []float64, q float64) float64 {
	x = slices.Sorted(slices.Values(x))
	return x[int(math.Round(q*float64(len(x)-1)))]
}

// sendSignal sends signals that package syscall does not have on every platform.
func sendSignal(t *testing.T, cmd *exec.Cmd, name string) {
	t.Helper()
	if err := exec.Command("kill", "-"+name, strconv.Itoa(cmd.Process.Pid)).Run(); err != nil {
		t.Fatal(err)
	}
}

// TestADryDeviceGetsALargerBuffer stops the process that plays for longer than its buffer lasts: from then on more is kept ready, and
// the onsets that are reported are those of a recording, before and after.
func TestADryDeviceGetsALargerBuffer(t *testing.T) {
	requireLinux(t)
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	t.Parallel() // it mostly waits, at a sound server of its own
	server := soundtest.Start(t)
	recorder := server.Record(t)
	cmd := child(t, "clicks", append(server.Env(), "BUFFER="+DefaultBuffer.String(), "COUNT=80", "GROW=1")...)
	var data bytes.Buffer
	cmd.Stdout = &data
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(4 * time.Second)
	sendSignal(t, cmd, "STOP")
	stopped := time.Now()
	time.Sleep(300 * time.Millisecond)
	sendSignal(t, cmd, "CONT")
	gone := time.Now()
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	recording := recorder.Stop(t)
	var run clickRun
	if err := json.Unmarshal(data.Bytes(), &run); err != nil {
		t.Fatal(err)
	}
	if run.Health.Underruns == 0 || run.Health.Buffer <= DefaultBuffer {
		t.Errorf("after it ran dry the buffer is %v: %+v", run.Health.Buffer, run.Health)
	}
	if !run.Health.Good && run.Health.Underruns > 1 {
		t.Skipf("the machine is too busy to keep the pace of sound: %+v", run.Health)
	}
	var heard []time.Time
	for _, sample := range clicksIn(recording.Samples) {
		heard = append(heard, recording.TimeOf(sample))
	}
	var before, after []float64
	for _, onset := range run.Onsets {
		at := time.Unix(0, onset)
		nearest := math.Inf(1)
		for _, h := range heard {
			if off := float64(at.Sub(h).Microseconds()) / 1000; math.Abs(off) < math.Abs(nearest) {
				nearest = off
			}
		}
		switch {
		case at.Before(stopped):
			before = append(before, nearest)
		case at.After(gone.Add(time.Second)):
			after = append(after, nearest)
		}
	}
	if len(before) < 10 || len(after) < 10 {
		t.Fatalf("%d clicks before and %d after prove nothing", len(before), len(after))
	}
	for when, off := range map[string][]float64{"before": before, "after": after} {
		worst := quantile(distances(off, 0), 0.95)
		t.Logf("%s it ran dry: %d onsets, median %.2f ms off, 95 of 100 within %.2f ms; health %+v", when, len(off), quantile(distances(off, 0), 0.5), worst, run.Health)
		if worst > 3 {
			t.Errorf("%s it ran dry 95 of 100 onsets are within %.2f ms of the recording, want 3", when, worst)
		}
	}
}

// TestAnEarlyOutputIsHonest opens the sound as a sitting does, which does not wait until the clock is known: the onsets of the first
// clicks agree with a recording all the same.
func TestAnEarlyOutputIsHonest(t *testing.T) {
	run, heard := clicksThrough(t, DefaultBuffer, "COUNT=12", "EARLY=1")
	var off []float64
	for i, at := range heard {
		off = append(off, float64(run.Onsets[i]-at.UnixNano())/1e6)
	}
	t.Logf("reported minus captured, from the first click on: %.2f ms; health %+v", off, run.Health)
	if worst := slices.Max(distances(off, 0)); worst > 4 && len(run.stalls) == 0 {
		t.Errorf("the first reports are within %.2f ms of the recording, want 4", worst)
	}
}

// playUntilTold prints the health of the sound as a line of JSON ten times a second, until its standard input ends.
func playUntilTold() error {
	out, err := Open(Options{Grow: os.Getenv("GROW") != ""})
	if err != nil {
		return err
	}
	out.Begin(time.Now())
	ended := make(chan struct{})
	go func() {
		io.Copy(io.Discard, os.Stdin)
		close(ended)
	}()
	t0, tick := time.Now(), time.NewTicker(100*time.Millisecond)
	for id := 0; ; id++ {
		select {
		case <-ended:
			return out.Close()
		case <-tick.C:
		}
		if err := out.Play(Cue{ID: id, Due: time.Since(t0), Sound: click()}); err != nil {
			return err
		}
		select {
		case <-out.Reports():
		case <-time.After(4 * time.Second):
			return errors.New("a cue was never reported")
		}
		if err := json.NewEncoder(os.Stdout).Encode(out.Health()); err != nil {
			return err
		}
	}
}

// follower is a playUntilTold child, and what it says of its health.
type follower struct {
	*testing.T
	lines chan Health
	end   func()
}

// playing starts a child that plays. On a machine that is too busy the device takes nothing at first, and the child begins silently,
// as it has to; then another one is started.
func playing(t *testing.T, server *soundtest.Server) *follower {
	t.Helper()
	for try := 1; ; try++ {
		f := follow(t, server)
		last, is := f.within(15*time.Second, func(h Health) bool { return !h.Silent })
		if is {
			t.Logf("playing: %+v", last)
			return f
		}
		if try == 3 {
			t.Fatalf("it does not play, for the third time: %+v", last)
		}
		t.Logf("once more, for the machine may be busy: %+v", last)
		f.end()
	}
}

// follow starts a child.
func follow(t *testing.T, server *soundtest.Server) *follower {
	t.Helper()
	cmd := child(t, "play", server.Env()...)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	f := &follower{T: t, lines: make(chan Health, 1000)}
	go func() {
		defer close(f.lines)
		for dec := json.NewDecoder(out); ; {
			var h Health
			if dec.Decode(&h) != nil {
				return
			}
			f.lines <- h
		}
	}()
	f.end = sync.OnceFunc(func() {
		in.Close()
		for range f.lines {
		}
		if err := cmd.Wait(); err != nil {
			t.Errorf("the child ended with %v", err)
		}
		if stderr.Len() > 0 {
			t.Errorf("on standard error, where the screen is: %q", stderr.String())
		}
	})
	t.Cleanup(f.end)
	return f
}

// within waits until the health of the child is as it should be, and gives what it said last.
func (f *follower) within(limit time.Duration, ok func(Health) bool) (last Health, is bool) {
	f.Helper()
	timer := time.NewTimer(limit)
	defer timer.Stop()
	for {
		select {
		case h, open := <-f.lines:
			if !open {
				f.Fatalf("the child has ended; last %+v", last)
			}
			if last = h; ok(h) {
				return last, true
			}
		case <-timer.C:
			return last, false
		}
	}
}

// see waits until the health of the child is as it has to be in time.
func (f *follower) see(what string, limit time.Duration, ok func(Health) bool) {
	f.Helper()
	last, is := f.within(limit, ok)
	if !is {
		f.Fatalf("%s: not within %v; last %+v", what, limit, last)
	}
	f.Logf("%s: %+v", what, last)
}

func TestASittingOutlivesItsDevice(t *testing.T) {
	requireLinux(t)
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	t.Parallel() // it mostly waits, at a sound server of its own
	server := soundtest.Start(t)
	sitting := playing(t, server)
	server.Kill()
	sitting.see("server killed", 30*time.Second, func(h Health) bool { return h.Silent && !h.Good && h.Why != "" })
	server.Restart(t)
	sitting.see("server restarted", 40*time.Second, func(h Health) bool { return !h.Silent && h.Good })
}

func TestAStalledDeviceIsTakenBack(t *testing.T) {
	requireLinux(t)
	if testing.Short() {
		t.Skip("it plays in real time")
	}
	t.Parallel() // it mostly waits, at a sound server of its own
	server := soundtest.Start(t)
	sitting := playing(t, server)
	if err := server.Freeze(); err != nil {
		t.Fatal(err)
	}
	sitting.see("server frozen", 30*time.Second, func(h Health) bool { return h.Silent && !h.Good })
	if err := server.Thaw(); err != nil {
		t.Fatal(err)
	}
	sitting.see("server back", 40*time.Second, func(h Health) bool { return !h.Silent })
}

// TestADeviceThatHearsNothing opens ALSA's null device, which takes whatever it gets at once: it must neither pass for sound
// nor keep a core busy.
func TestADeviceThatHearsNothing(t *testing.T) {
	requireLinux(t)
	if testing.Short() {
		t.Skip("it waits for seconds")
	}
	conf := filepath.Join(t.TempDir(), "alsa.conf")
	if err := os.WriteFile(conf, []byte("</usr/share/alsa/alsa.conf>\npcm.!default { type null }\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := child(t, "clicks", "ALSA_CONFIG_PATH="+conf, "PULSE_SERVER=unix:/nonexistent", "BUFFER=40ms", "COUNT=5")
	data, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var run clickRun
	if err := json.Unmarshal(data, &run); err != nil {
		t.Fatal(err)
	}
	if want := "No sound: the sound device takes sound faster than it can be heard. The sitting is silent."; run.Notice != want {
		t.Errorf("notice %q, want %q", run.Notice, want)
	}
	if used := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime(); used > 3*time.Second {
		t.Errorf("it kept the processor busy for %v", used)
	}
}

// TestWithoutADevice opens the sound on a machine that has none: no error, no wait without end, nothing on the screen.
func TestWithoutADevice(t *testing.T) {
	requireLinux(t)
	conf := filepath.Join(t.TempDir(), "alsa.conf")
	if err := os.WriteFile(conf, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := child(t, "clicks", "ALSA_CONFIG_PATH="+conf, "PULSE_SERVER=unix:/nonexistent", "BUFFER=40ms", "COUNT=5")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	began := time.Now()
	data, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, stderr.String())
	}
	var run clickRun
	if err := json.Unmarshal(data, &run); err != nil {
		t.Fatal(err)
	}
	t.Logf("after %v: %s", time.Since(began).Round(time.Millisecond), run.Notice)
	if run.Notice != NoDevice {
		t.Errorf("notice %q, want %q", run.Notice, NoDevice)
	}
	if !run.Health.Silent || run.Health.Good {
		t.Errorf("health %+v, want silent and not good", run.Health)
	}
	if stderr.Len() > 0 {
		t.Errorf("on standard error, where the screen is: %q", stderr.String())
	}
}
