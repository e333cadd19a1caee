package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/coder/websocket"
)

// said is what a command has said so far.
type said struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (s *said) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(p)
}

func (s *said) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// await waits until it matches a pattern and gives what its groups match.
func (s *said) await(t *testing.T, pattern string) []string {
	t.Helper()
	re := regexp.MustCompile(pattern)
	for deadline := time.Now().Add(30 * time.Second); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		if m := re.FindStringSubmatch(s.String()); m != nil {
			return m
		}
	}
	t.Fatalf("no %s in %q", pattern, s.String())
	return nil
}

// instructor is a page of a station, as a program opens it.
type instructor struct {
	t    *testing.T
	conn *websocket.Conn
	next int
}

// instruct enters a station and begins to talk.
func instruct(t *testing.T, address, code string) *instructor {
	t.Helper()
	origin := strings.TrimSuffix(address, "/")
	r, err := http.NewRequestWithContext(t.Context(), "POST", origin+"/enter", strings.NewReader(fmt.Sprintf(`{"code":%q}`, code)))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Origin", origin)
	r.Header.Set("Content-Type", "application/json")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var got struct{ Key, Why string }
	if json.NewDecoder(answer.Body).Decode(&got) != nil || got.Key == "" {
		t.Fatalf("not let in: %s", got.Why)
	}
	cookie := answer.Cookies()[0]
	conn, _, err := websocket.Dial(t.Context(), strings.Replace(origin, "http", "ws", 1)+"/live", &websocket.DialOptions{
		HTTPHeader: http.Header{"Origin": {origin}, "Cookie": {cookie.Name + "=" + cookie.Value}}, Subprotocols: []string{"hornlark", got.Key},
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.CloseNow() })
	conn.SetReadLimit(8 << 20)
	return &instructor{t: t, conn: conn}
}

// until reads until a message is what is wanted; nil at the end of the conversation.
func (i *instructor) until(wanted func(map[string]any) bool) map[string]any {
	i.t.Helper()
	for {
		_, body, err := i.conn.Read(i.t.Context())
		if err != nil {
			return nil
		}
		var m map[string]any
		if err := json.Unmarshal(body, &m); err != nil {
			i.t.Fatal(err)
		}
		if wanted(m) {
			return m
		}
	}
}

// do has the sitting do something, and fails if it does not.
func (i *instructor) do(act string) {
	i.t.Helper()
	i.next++
	if err := i.conn.Write(i.t.Context(), websocket.MessageText, fmt.Appendf(nil, `{"kind":"do","id":%d,%s}`, i.next, act)); err != nil {
		i.t.Fatal(err)
	}
	m := i.until(func(m map[string]any) bool { return m["kind"] == "answer" && m["id"] == float64(i.next) })
	if m == nil || m["done"] != true {
		i.t.Errorf("%s: %v", act, m)
	}
}

// An address that is none, or a sitting that can have no station, is a mistake in the call, and nothing has listened.
func TestAStationThatCannotBe(t *testing.T) {
	for want, args := range map[string][]string{
		"no colon before the port": {"--station", "4700"}, "in figures": {"--station", "example.org:80"}, "over at once": {"--station", ":0", "--virtual"}, "is not an address": {"--station", "nowhere"},
		"there is no scenario": {"--station", ":0"},
	} {
		var out said
		name := "first-start"
		if strings.HasPrefix(want, "there is no") {
			name = "no-such-scenario"
		}
		status := run(t.Context(), append([]string{"drill", name, "--answers", "perfect", "--silent"}, args...), streams{in: strings.NewReader(""), out: &out, err: &out})
		if status != exitUsage || !strings.Contains(out.String(), want) || strings.Contains(out.String(), "code") {
			t.Errorf("%q: status %d, %s", args, status, out.String())
		}
	}
}

// A sitting with a station waits for the instructor, goes on under their eyes, keeps what they did, and nobody listens once it is over.
func TestASittingUnderAnInstructor(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes a live sitting")
	}
	brief, err := filepath.Abs(filepath.Join("testdata", "brief"))
	if err != nil {
		t.Fatal(err)
	}
	home := t.TempDir()
	t.Setenv("HORNLARK_DATA", filepath.Join(home, "data"))
	for _, pair := range noSound(home) {
		name, value, _ := strings.Cut(pair, "=")
		t.Setenv(name, value)
	}
	var out, told said
	status := make(chan int, 1)
	go func() {
		status <- run(t.Context(), []string{"drill", filepath.Join(brief, "scenario.yaml"), "--with", brief, "--answers", "perfect", "--silent", "--trainee", "kim", "--station", ":0"},
			streams{in: strings.NewReader(""), out: &out, err: &told})
	}()
	address := told.await(t, `at (http://127\.0\.0\.1:\d+/)`)[1]
	code := told.await(t, `code, which works once, is (\S{4}-\S{4})\n`)[1]
	told.await(t, "begins once the instructor is there")
	if strings.Contains(out.String(), code) {
		t.Error("the code stands in the output")
	}
	i := instruct(t, address, code)
	if i.until(func(m map[string]any) bool { return m["kind"] == "hello" && m["trainee"] == "kim" }) == nil {
		t.Fatal("the page hears of no sitting")
	}
	if i.until(func(m map[string]any) bool { return m["kind"] == "scene" }) == nil {
		t.Fatal("the page sees nothing")
	}
	i.do(`"do":"freeze"`)
	i.do(`"do":"release"`)
	i.do(`"do":"remark","what":"Quick hands."`)
	if i.until(func(m map[string]any) bool { return m["kind"] == "scene" && m["ended"] == true }) == nil {
		t.Error("the page does not see the end")
	}
	if got := <-status; got != exitPassed {
		t.Errorf("status %d: %s", got, told.String())
	}
	if _, err := http.Get(address); err == nil {
		t.Error("somebody listens still")
	}
	var report bytes.Buffer
	if got := run(t.Context(), []string{"debrief"}, streams{in: os.Stdin, out: &report, err: &report}); got != exitPassed || !strings.Contains(report.String(), "Quick hands.") {
		t.Errorf("status %d, and the debrief has no remark:\n%s", got, &report)
	}
	report.Reset()
	if got := run(t.Context(), []string{"replay"}, streams{in: os.Stdin, out: &report, err: &report}); got != exitPassed {
		t.Errorf("replay: status %d: %s", got, &report)
	}
}

// Stopped while it waits for an instructor, a sitting has not begun, and nothing is kept.
func TestStoppedBeforeTheInstructorCame(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	t.Setenv("HORNLARK_DATA", data)
	ctx, cancel := context.WithCancel(t.Context())
	var told said
	status := make(chan int, 1)
	go func() {
		status <- run(ctx, []string{"drill", "first-start", "--answers", "perfect", "--silent", "--station", ":0"}, streams{in: strings.NewReader(""), out: &told, err: &told})
	}()
	told.await(t, "begins once the instructor is there")
	cancel()
	if got := <-status; got != exitStopped || !strings.Contains(told.String(), "nothing was kept") {
		t.Errorf("status %d: %s", got, told.String())
	}
	if _, err := os.Stat(filepath.Join(data, "hornlark.db")); err == nil {
		t.Error("records were made")
	}
}

// The page of a class is said to be somewhere, and is gone once it is stopped; an address that is none is a mistake in the call.
func TestThePageOfAClass(t *testing.T) {
	for want, args := range map[string][]string{
		"names no address": {"kim:4700"}, "not where a station can be reached": {":0"}, "--listen": {"--listen", "4700"},
	} {
		var told said
		if got := run(t.Context(), append([]string{"station"}, args...), streams{in: strings.NewReader(""), out: &told, err: &told}); got != exitUsage || !strings.Contains(told.String(), want) {
			t.Errorf("%q: status %d, %s", args, got, told.String())
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	var told said
	status := make(chan int, 1)
	go func() {
		status <- run(ctx, []string{"station", "127.0.0.1:1"}, streams{in: strings.NewReader(""), out: &told, err: &told})
	}()
	address := told.await(t, `class: (http://127\.0\.0\.1:\d+/)#\w{26}\n`)[1]
	if answer, err := http.Get(address); err != nil || answer.StatusCode != http.StatusOK {
		t.Errorf("%v", err)
	}
	cancel()
	if got := <-status; got != exitStopped {
		t.Errorf("status %d", got)
	}
	if _, err := http.Get(address); err == nil {
		t.Error("somebody listens still")
	}
}
