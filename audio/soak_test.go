//go:build linux

package audio

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"hornlark/audio/soundtest"
)

// soakVar says for how many minutes the sound is played without a break; not set, it is not. soakBufferVar is the buffer that
// it is played with, as in "100ms"; not set, it is the default.
const (
	soakVar       = "HORNLARK_SOAK"
	soakBufferVar = "HORNLARK_SOAK_BUFFER"
)

// A checklist has about 20 cues a minute, a challenge and a response every six seconds. The soak has 50 times as many.
const soakGap = time.Minute / (50 * 20)

// soakRun is what the child tells in the end.
type soakRun struct {
	Buffer time.Duration
	Onsets []int64 // of each cue, by the clock of the machine, ns since 1970
	Dry    []int64 // when an underrun was found, likewise
	Memory []int64 // resident, bytes: after each minute
	Load   float64 // of the machine, the highest minute's
	Health Health
	Worst  int     // looks at the health, ten a second, that found it not good
	Looks  int     // all of them
	CPU    float64 // share of one core
}

func init() { children["soak"] = soak }

func soak() error {
	minutes, err := strconv.ParseFloat(os.Getenv("MINUTES"), 64)
	if err != nil {
		return err
	}
	buffer := DefaultBuffer
	if text := os.Getenv(soakBufferVar); text != "" {
		if buffer, err = time.ParseDuration(text); err != nil {
			return err
		}
	}
	out, err := Open(Options{Buffer: buffer})
	if err != nil {
		return err
	}
	began := time.Now()
	out.Begin(began)
	run := soakRun{Buffer: buffer}
	count := int(minutes * float64(time.Minute) / float64(soakGap))
	run.Onsets = make([]int64, count)
	drone := quiet()
	tick := time.NewTicker(soakGap)
	defer tick.Stop()
	left := 0
	for i := range count {
		due := time.Since(began) + out.Lead()
		if err := out.Play(Cue{ID: i, Due: due, Sound: click()}); err != nil {
			return err
		}
		left++
		if i%10 == 0 { // a horn that is silenced, too quiet to be taken for a click
			if err := out.Play(Cue{ID: -1 - i, Due: due, Sound: drone, Loop: true, Rank: Warning}); err != nil {
				return err
			}
			out.Stop(-1-i, due+300*time.Millisecond)
			left++
		}
		<-tick.C
		for more := true; more; {
			select {
			case r := <-out.Reports():
				left--
				if r.Cue >= 0 {
					run.Onsets[r.Cue] = began.Add(r.Onset).UnixNano()
				}
			default:
				more = false
			}
		}
		h := out.Health()
		for len(run.Dry) < h.Underruns {
			run.Dry = append(run.Dry, time.Now().UnixNano())
		}
		if i%2 == 0 {
			run.Looks++
			if !h.Good {
				run.Worst++
			}
		}
		if perMinute := int(time.Minute / soakGap); i%perMinute == perMinute-1 {
			run.Memory = append(run.Memory, resident())
			run.Load = max(run.Load, load())
		}
	}
	for patience := time.After(2 * time.Second); left > 0; left-- {
		select {
		case r := <-out.Reports():
			if r.Cue >= 0 {
				run.Onsets[r.Cue] = began.Add(r.Onset).UnixNano()
			}
		case <-patience: // a hum that came too late to be begun before it was stopped is never reported
			left = 0
		}
	}
	run.Health = out.Health()
	run.CPU = processorTime().Seconds() / time.Since(began).Seconds()
	if err := out.Close(); err != nil {
		return err
	}
	time.Sleep(200 * time.Millisecond)
	return json.NewEncoder(os.Stdout).Encode(run)
}

// quiet is a hum far below a click.
func quiet() Sound {
	pcm := make([]int16, Rate/10)
	for i := range pcm {
		pcm[i] = int16(300 * math.Sin(2*math.Pi*200*float64(i)/Rate))
	}
	return Sound{pcm}
}

// resident gives the memory that the process has, in bytes, as Linux tells it.
func resident() int64 {
	f, err := os.Open("/proc/self/status")
	if err != nil {
		return 0
	}
	defer f.Close()
	for lines := bufio.NewScanner(f); lines.Scan(); {
		if rest, ok := strings.CutPrefix(lines.Text(), "VmRSS:"); ok {
			n, _ := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
			return n << 10
		}
	}
	return 0
}

// load gives the average number of runnable processes over the last minute, as Linux tells it.
func load() float64 {
	data, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return 0
	}
	first, _, _ := strings.Cut(string(data), " ")
	v, _ := strconv.ParseFloat(first, 64)
	return v
}

func processorTime() time.Duration {
	var use syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &use) != nil {
		return 0
	}
	return time.Duration(use.Utime.Nano() + use.Stime.Nano())
}

// near gives those of the second before a moment and of the tenth of one after it.
func near(stalls []stall, at time.Time) []stall {
	return slices.DeleteFunc(slices.Clone(stalls), func(s stall) bool {
		ago := at.Sub(s.until)
		return ago < -100*time.Millisecond || ago > time.Second
	})
}

// TestSoundRunsForLong plays cues as densely as no sitting does, through a real sound server, and looks for underruns, for
// drift between the reported and the recorded onsets, and at what it costs. It tells how often the machine itself stood
// still, without which an underrun means little.
func TestSoundRunsForLong(t *testing.T) {
	minutes := os.Getenv(soakVar)
	if minutes == "" {
		t.Skipf("it plays in real time: set %s to a number of minutes", soakVar)
	}
	server := soundtest.Start(t)
	recorder := server.RecordOnsets(t, 0.1, Rate/50)
	stop := make(chan struct{})
	watched := watchMachine(5*time.Millisecond, stop)
	data, err := child(t, "soak", append(server.Env(), "MINUTES="+minutes)...).Output()
	if err != nil {
		t.Fatal(err)
	}
	close(stop)
	stalls := <-watched
	recording := recorder.Stop(t)
	var run soakRun
	if err := json.Unmarshal(data, &run); err != nil {
		t.Fatalf("%v: %.200s", err, data)
	}
	t.Logf("%s minutes, %d cues, %v of buffer: health %+v; not good at %d of %d looks; %.1f %% of one core; load of the machine up to %.1f; resident %s",
		minutes, len(run.Onsets), run.Buffer, run.Health, run.Worst, run.Looks, 100*run.CPU, run.Load, megabytes(run.Memory))
	if run.Health.Underruns > 0 {
		t.Errorf("%d underruns", run.Health.Underruns)
	}
	t.Logf("of stalls of 5 ms and more: %s", tellStalls(stalls))
	for _, dry := range run.Dry {
		at := time.Unix(0, dry)
		t.Logf("underrun at %s: in that second %s", at.Format(time.TimeOnly), tellStalls(near(stalls, at)))
	}
	if run.CPU > 0.10 {
		t.Errorf("%.1f %% of one core, want 10", 100*run.CPU)
	}
	if n := len(run.Memory); n >= 4 && run.Memory[n-1] > run.Memory[1]+8<<20 {
		t.Errorf("memory grows: %s", megabytes(run.Memory))
	}
	if len(recording.Onsets) != len(run.Onsets) {
		t.Fatalf("%d clicks were heard, want %d", len(recording.Onsets), len(run.Onsets))
	}
	off := make([]float64, len(run.Onsets))
	for i, sample := range recording.Onsets {
		off[i] = float64(run.Onsets[i]-recording.TimeOf(sample).UnixNano()) / 1e6
	}
	tenths := make([]float64, 10)
	for i := range tenths {
		tenths[i] = quantile(off[i*len(off)/10:(i+1)*len(off)/10], 0.5)
	}
	first, last := tenths[0], tenths[9]
	t.Logf("reported minus captured, ms: medians of each tenth %.2f; about the median of all, p99 %.2f",
		tenths, quantile(distances(off, quantile(off, 0.5)), 0.99))
	if drift := math.Abs(last - first); drift > 1 {
		t.Errorf("it has drifted by %.2f ms, want 1", drift)
	}
}

func megabytes(list []int64) string {
	if len(list) == 0 {
		return "not taken"
	}
	return fmt.Sprintf("%.1f MB after the first minute, %.1f at the end, %.1f at most",
		float64(list[0])/1e6, float64(list[len(list)-1])/1e6, float64(slices.Max(list))/1e6)
}
