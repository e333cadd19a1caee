//go:build unix

package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"hornlark/audio/soundtest"
	"hornlark/audio/voice"
	"hornlark/drill/logbook"
)

// errors of times, sorted.
type offs []time.Duration

func (o offs) at(part float64) time.Duration { return o[int(part*float64(len(o)-1))] }

func (o offs) String() string {
	return fmt.Sprintf("%d: median %.2f, 99th percentile %.2f, largest %.2f ms", len(o), ms(o.at(0.5)), ms(o.at(0.99)), ms(o.at(1)))
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// A sitting keeps its times whoever is at its door: with the instructor's page reading everything and doing something twice a second, and nine
// others that knock, hold connections open and send nonsense as fast as they are answered, presses are stamped and cues are heard as without
// them. It takes as long as HORNLARK_WATCHED says, in rounds of two sittings of 40 s, and says what it has found: what a busy machine does to
// either cannot be told from what clients do, so that only a difference of ten milliseconds between medians fails.
func TestASittingKeepsItsTimesUnderTenClients(t *testing.T) {
	rounds := 0
	if _, err := fmt.Sscan(os.Getenv("HORNLARK_WATCHED"), &rounds); err != nil || rounds < 1 {
		t.Skip("takes minutes; set HORNLARK_WATCHED to a number of rounds")
	}
	server := soundtest.Start(t)
	var stamps, onsets [2]offs
	for range rounds {
		for with := range 2 {
			s, o := timed(t, server, with == 1)
			stamps[with], onsets[with] = append(stamps[with], s...), append(onsets[with], o...)
		}
	}
	for with, who := range []string{"nobody at the door", "ten clients"} {
		slices.Sort(stamps[with])
		slices.Sort(onsets[with])
		t.Logf("%s: presses, stamp after write, %v", who, stamps[with])
		t.Logf("%s: onsets, reported from recorded, %v", who, onsets[with])
	}
	for _, both := range [][2]offs{stamps, onsets} {
		if d := both[1].at(0.5) - both[0].at(0.5); d > 10*time.Millisecond {
			t.Errorf("with ten clients the median is %v more", d)
		}
	}
}

// timed gives by how much presses and onsets of a sitting were off.
func timed(t *testing.T, server *soundtest.Server, clients bool) (stamps, onsets offs) {
	t.Helper()
	data := t.TempDir()
	args := []string{"drill", "first-start-quiet", "--nobody"}
	if clients {
		args = append(args, "--station", ":0")
	}
	record := server.Record(t)
	cmd, term, screen := onPTY(t, append(server.Env(), "HORNLARK_DATA="+data, "XDG_CONFIG_HOME="+t.TempDir()), args...)
	var around sync.WaitGroup
	ended := make(chan struct{})
	if clients {
		screen.await(t, "Enter begins it before that.", 20*time.Second)
		var told said
		told.Write([]byte(screen.string()))
		address, code := told.await(t, `at (http://127\.0\.0\.1:\d+/)`)[1], told.await(t, `code, which works once, is (\S{9})`)[1]
		i := instruct(t, address, code)
		around.Go(func() { i.until(func(map[string]any) bool { return false }) })
		around.Go(func() {
			for n := 0; ; n++ {
				select {
				case <-ended:
					return
				case <-time.After(500 * time.Millisecond):
					i.conn.Write(t.Context(), 1, fmt.Appendf(nil, `{"kind":"do","id":%d,"do":"remark","what":"remark %d"}`, n, n))
				}
			}
		})
		for k := range 9 {
			around.Go(func() { knock(address, k, ended) })
		}
	}
	screen.await(t, "kept without a name", 30*time.Second)
	time.Sleep(2 * time.Second)
	var written []time.Time
	for began := time.Now(); time.Since(began) < 40*time.Second; time.Sleep(time.Duration(40+rand.N(60)) * time.Millisecond) {
		written = append(written, time.Now())
		io.WriteString(term, "\r")
	}
	time.Sleep(time.Second)
	cmd.Process.Signal(syscall.SIGTERM)
	cmd.Wait()
	close(ended)
	around.Wait()
	recording := record.Stop(t)
	log, sat := kept(t, filepath.Join(data, "hornlark.db"))
	presses := 0
	for _, e := range log {
		if e.Kind == logbook.Press && presses < len(written) {
			stamps = append(stamps, sat.Add(e.At).Sub(written[presses]))
			presses++
		}
		if e.Kind == logbook.Heard && e.Why == "" && isCue(log, e.Cue, logbook.Speech) {
			if off, match := findSpeech(t, recording, textOf(log, e.Cue), sat.Add(e.Onset)); match > 0.5 {
				onsets = append(onsets, max(off, -off))
			}
		}
	}
	if presses < len(written)/2 || len(onsets) < 3 {
		t.Fatalf("%d of %d presses and %d onsets were found", presses, len(written), len(onsets))
	}
	return stamps, onsets
}

// knock is somebody who is not let in, in one of three ways, until ended.
func knock(address string, way int, ended chan struct{}) {
	client := &http.Client{Timeout: 5 * time.Second}
	for {
		select {
		case <-ended:
			return
		default:
		}
		switch way % 3 {
		case 0:
			if answer, err := client.Post(address+"enter", "application/json", strings.NewReader(`{"code":"AAAAAAAA"}`)); err == nil {
				io.Copy(io.Discard, answer.Body)
				answer.Body.Close()
			}
		case 1:
			if answer, err := client.Get(address); err == nil {
				io.Copy(io.Discard, answer.Body)
				answer.Body.Close()
			}
		default:
			if c, err := net.Dial("tcp", strings.Trim(strings.TrimPrefix(address, "http://"), "/")); err == nil {
				c.Write([]byte("GET /live HTTP/1.1\r\nHost: nowhere\r\n\x00\xff"))
				time.Sleep(100 * time.Millisecond)
				c.Close()
			}
		}
	}
}

func textOf(log []logbook.Entry, cue int) string {
	i := slices.IndexFunc(log, func(e logbook.Entry) bool { return e.Kind == logbook.Cue && e.Cue == cue })
	return log[max(i, 0)].Text
}

// findSpeech slides the beginning of a challenge over the recording about a moment, and gives where it fits best and how well.
func findSpeech(t *testing.T, r soundtest.Recording, text string, about time.Time) (off time.Duration, match float64) {
	t.Helper()
	voices, err := voice.Open(voice.Options{Engine: "none"})
	if err != nil {
		t.Fatal(err)
	}
	clip, err := voices.Clip("challenger", text)
	if err != nil {
		return 0, 0 // it is not the challenger who says it
	}
	pcm := clip.PCM[:min(len(clip.PCM), soundtest.Rate*4/10)]
	centre, reach, best := r.SampleAt(about), soundtest.Rate/10, 0
	for shift := -reach; shift <= reach; shift++ {
		first := centre + shift
		if first < 0 || first+len(pcm) > len(r.Samples) {
			continue
		}
		dot, a, b := 0.0, 0.0, 0.0
		for i := 0; i < len(pcm); i += 4 {
			x, y := float64(pcm[i]), float64(r.Samples[first+i])
			dot, a, b = dot+x*y, a+x*x, b+y*y
		}
		if m := dot / math.Sqrt(a*b+1e-12); m > match {
			match, best = m, shift
		}
	}
	return time.Duration(best) * time.Second / soundtest.Rate, match
}
