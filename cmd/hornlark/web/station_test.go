package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/coder/websocket"

	"hornlark/audio"
	"hornlark/audio/voice"
	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/debrief"
	"hornlark/drill/library"
	"hornlark/drill/logbook"
	"hornlark/drill/record"
)

// kept is what a live sitting of a test keeps: its log and its inputs.
type kept struct {
	log    []logbook.Entry
	inputs []drill.Stored
}

func (k *kept) Begin(record.Sitting) error { return nil }
func (k *kept) Entry(e logbook.Entry)      { k.log = append(k.log, e) }
func (k *kept) Input(at time.Duration, e drill.Event) {
	k.inputs = append(k.inputs, drill.Stored{At: at, Event: e})
}
func (k *kept) Trouble() string { return "" }

// exercise makes ready a built-in scenario, or one of the short ones of the tests.
func exercise(t testing.TB, name string) *desk.Exercise {
	t.Helper()
	lib, err := library.Builtin()
	if err == nil {
		lib, err = lib.With(filepath.Join("..", "testdata", "short"))
	}
	if err != nil {
		t.Fatal(err)
	}
	bundle, err := lib.Resolve(name)
	if err != nil {
		t.Fatal(err)
	}
	ex, err := desk.NewExercise(bundle, "", 7)
	if err != nil {
		t.Fatal(err)
	}
	return ex
}

// stationOfPipes is a station without a network, and a way to its page.
func stationOfPipes() (*Station, *pipes) {
	s := &Station{hub: NewHub()}
	p := &pipes{make(chan net.Conn), make(chan struct{})}
	s.door = newDoor(DoorOptions{Page: "station.html", Files: assets, Meet: s.meet}, p, netip.MustParseAddrPort("127.0.0.1:4700"))
	return s, p
}

// paged is a page of a station, as a program reads it.
type paged struct {
	t       *testing.T
	conn    *websocket.Conn
	next    int
	heard   []map[string]any
	answers map[int]map[string]any
	lines   []string
}

// open enters and begins the conversation.
func (p *pipes) open(t *testing.T, s *Station) *paged {
	t.Helper()
	client := &http.Client{Transport: &http.Transport{DialContext: func(context.Context, string, string) (net.Conn, error) {
		here, there := net.Pipe()
		p.conns <- there
		return here, nil
	}, DisableKeepAlives: true}}
	r, _ := http.NewRequest("POST", "http://127.0.0.1:4700/enter", strings.NewReader(fmt.Sprintf(`{"code":%q}`, s.door.Code())))
	r.Header.Set("Origin", "http://127.0.0.1:4700")
	r.Header.Set("Content-Type", "application/json")
	answer, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var got struct{ Key string }
	if err := json.NewDecoder(answer.Body).Decode(&got); err != nil {
		t.Fatal(err)
	}
	cookie := answer.Cookies()[0]
	conn, _, err := websocket.Dial(t.Context(), "ws://127.0.0.1:4700/live", &websocket.DialOptions{
		HTTPClient: client, HTTPHeader: http.Header{"Origin": {"http://127.0.0.1:4700"}, "Cookie": {cookie.Name + "=" + cookie.Value}}, Subprotocols: []string{"hornlark", got.Key},
	})
	if err != nil {
		t.Fatal(err)
	}
	conn.SetReadLimit(8 << 20)
	return &paged{t: t, conn: conn, answers: map[int]map[string]any{}}
}

// read reads the next message, and fails if it is not one.
func (p *paged) read() (map[string]any, error) {
	_, body, err := p.conn.Read(p.t.Context())
	if err != nil {
		return nil, err
	}
	var m map[string]any
	if err := json.Unmarshal(body, &m); err != nil || m["kind"] == nil {
		p.t.Errorf("%s: %v", body, err)
		return nil, fmt.Errorf("no message: %w", err)
	}
	if m["kind"] == "lines" {
		from := int(m["from"].(float64))
		p.lines = p.lines[:from]
		for _, line := range m["lines"].([]any) {
			p.lines = append(p.lines, line.(map[string]any)["text"].(string))
		}
	}
	p.heard = append(p.heard, m)
	return m, nil
}

// do has the sitting do something, and gives what has come of it.
func (p *paged) do(act string) (done bool, why string) {
	p.t.Helper()
	p.next++
	text := fmt.Sprintf(`{"kind":"do","id":%d,%s}`, p.next, act)
	if err := p.conn.Write(p.t.Context(), websocket.MessageText, []byte(text)); err != nil {
		p.t.Fatal(err)
	}
	for {
		m, err := p.read()
		if err != nil {
			p.t.Fatal(act, err)
		}
		if m["kind"] == "answer" && int(m["id"].(float64)) == p.next {
			why, _ := m["why"].(string)
			return m["done"].(bool), why
		}
	}
}

// latest is the latest message of a kind.
func (p *paged) latest(kind string) map[string]any {
	for i := len(p.heard) - 1; i >= 0; i-- {
		if p.heard[i]["kind"] == kind {
			return p.heard[i]
		}
	}
	return nil
}

// taught is a whole live sitting with its station, in the bubble of a test, and what is done at its page meanwhile. It is over when that is.
func taught(t *testing.T, ex *desk.Exercise, teach func(s *Station, p *paged)) *kept {
	t.Helper()
	out, err := audio.Open(audio.Options{Silent: true})
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	voices, err := voice.Open(voice.Options{Engine: "none"})
	if err != nil {
		t.Fatal(err)
	}
	live, err := desk.Ready(t.Context(), ex, desk.Means{Clock: desk.MachineClock{}, Sound: out, Voices: voices, Silent: true, Mute: true}, nil)
	if err != nil {
		t.Fatal(err)
	}
	records, inputs := &kept{}, make(chan desk.Input, desk.InputsHeld)
	if err := live.Begin(records, func(time.Time) record.Sitting { return ex.Record() }); err != nil {
		t.Fatal(err)
	}
	s, pipes := stationOfPipes()
	s.Attach(About{Ex: ex, Title: ex.Scenario.Title, Trainee: "kim", Names: debrief.Names{}, Inputs: inputs})
	page := pipes.open(t, s)
	done := make(chan struct{})
	go func() {
		defer close(done)
		teach(s, page)
		inputs <- desk.Input{At: time.Now(), Deed: desk.Leaves}
		for {
			if _, err := page.read(); err != nil {
				return
			}
		}
	}()
	if err := live.Drive(t.Context(), desk.Around{Inputs: inputs, Instructor: s}); err != nil {
		t.Fatal(err)
	}
	s.Close("the sitting is over")
	<-done
	page.conn.CloseNow()
	time.Sleep(10 * time.Second) // until whatever the sitting has begun has ended
	synctest.Wait()
	return records
}

// Everything of Part 60, Appendix D, Table D3A, 10 that a desk can have is done from the page, answered, in the timeline, and comes to the
// same when the sitting is gone through again; what cannot be done says why.
func TestTheStationDoesWhatItIsAsked(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ex := exercise(t, "first-start")
		var page *paged
		records := taught(t, ex, func(s *Station, p *paged) {
			page = p
			time.Sleep(3 * time.Second)
			for _, act := range []struct {
				what, why string
				done      bool
			}{
				{`"do":"freeze"`, "", true}, {`"do":"freeze"`, "so already", false}, {`"do":"say","what":"Hold position."`, "held", false}, {`"do":"release"`, "", true}, {`"do":"release"`, "so already", false},
				{`"do":"say","what":"Hold position."`, "not heard", true}, {`"do":"say","what":""`, "1 to 200", false},
				{`"do":"insert","what":"hot-start"`, "", true}, {`"do":"clear"`, "", true}, {`"do":"clear"`, "nothing", false},
				{`"do":"insert","what":"hot-start","when":{"at":1}`, "has been", false}, {`"do":"insert","what":"no-such"`, "nothing of that name", false},
				{`"do":"insert","what":"hot-start","when":{"at":600000}`, "", true}, {`"do":"insert","what":"hot-start","when":{"phase":"hover"}`, "", true},
				{`"do":"delete","what":"hot-start"`, "", true}, {`"do":"delete","what":"hot-start"`, "still to come", false},
				{`"do":"weather","what":"oat","to":30`, "", true}, {`"do":"weather","what":"oat","to":90`, "-40 to 55", false},
				{`"do":"fuel","to":120`, "", true}, {`"do":"fuel","to":-1`, "range", false}, {`"do":"power","what":"off"`, "", true}, {`"do":"power","what":"off"`, "so already", false},
				{`"do":"sound","what":"off"`, "", true}, {`"do":"sound","what":"on"`, "", true}, {`"do":"level","to":-6`, "", true}, {`"do":"level","to":3`, "-40 to 0", false},
				{`"do":"remark","what":"Looked at the wrong gauge.","when":{"at":1000}`, "", true}, {`"do":"back","what":"hover"`, "not begun", false},
				{`"do":"explode"`, "nothing of that name", false},
			} {
				done, why := p.do(act.what)
				if done != act.done || !strings.Contains(why, act.why) || !done && why == "" {
					t.Errorf("%s: %v, %q", act.what, done, why)
				}
				time.Sleep(600 * time.Millisecond)
			}
			if done, why := p.do(`"do":"back","what":"` + ex.Procedure().Phases[0].ID + `"`); !done {
				t.Errorf("set back: %s", why)
			}
			time.Sleep(time.Second)
			p.do(`"do":"freeze"`) // whatever has been sent meanwhile is read with its answer
			stage := p.latest("stage")
			if stage["fuel"].(float64) != 120 && stage["power"].(bool) || stage["level"].(float64) != -6 {
				t.Errorf("behind the scenes: %v", stage)
			}
		})
		again := ex.Begin(ex.Seed, ex.Lead)
		var log []logbook.Entry
		last := records.inputs[len(records.inputs)-1].At
		if err := again.Replay(records.inputs, last, func(o drill.Output) error {
			if o, ok := o.(drill.Log); ok {
				log = append(log, o.Entry)
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
		if fmt.Sprint(log) != fmt.Sprint(records.log) {
			t.Error("the sitting does not come to the same again")
		}
		told := strings.Join(page.lines, "\n")
		for _, part := range []string{"asked: ", "Hold position.", "held", "resumed", "insert", "Looked at the wrong gauge."} {
			if !strings.Contains(told, part) {
				t.Errorf("the timeline has no %q", part)
			}
		}
		for _, kind := range []string{"hello", "around", "lines", "items", "stage", "scene"} {
			if page.latest(kind) == nil {
				t.Errorf("the page was told no %q", kind)
			}
		}
	})
}

// What no page of ours sends is refused in a line, changes nothing, and the conversation goes on.
func TestHostileMessagesToTheStation(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		records := taught(t, exercise(t, "short-hover"), func(s *Station, p *paged) {
			for _, m := range []string{
				``, `{`, `null`, `[]`, `"do"`, `{}`, `{"kind":"do"}`, `{"kind":"do","do":""}`, `{"kind":"stop"}`, `{"kind":"do","do":"insert","what":5}`, `{"kind":"do","do":"freeze","more":1}`,
				`{"kind":"do","do":"level","to":1e999}`, `{"kind":"do","id":99999999999999999999,"do":"freeze"}`, `{"kind":"do","do":"insert","what":"hot-start","when":{"at":9223372036854775807}}`,
				`{"kind":"do","do":"say","what":"` + strings.Repeat("a", 4000) + `"}`, `{"kind":"do","do":"say","what":"\u0000\u001b[2J\u202e"}` + `{"kind":"do","do":"freeze"}`,
				strings.Repeat("[", 4000), "\x00\x01", `{"kind":"do","do":"remark","what":"` + strings.Repeat("é", 1001) + `"}`,
			} {
				if err := p.conn.Write(t.Context(), websocket.MessageText, []byte(m)); err != nil {
					t.Fatal(err)
				}
				for {
					got, err := p.read()
					if err != nil {
						t.Fatal(m, err)
					}
					if got["kind"] == "answer" {
						if why, _ := got["why"].(string); got["done"] == true || why == "" {
							t.Errorf("%.60s: %v", m, got)
						}
						break
					}
				}
			}
			if done, why := p.do(`"do":"freeze"`); !done {
				t.Errorf("after all that: %s", why)
			}
		})
		for _, e := range records.log {
			if e.Kind == logbook.Instruct && e.Why == "" {
				t.Errorf("something was done: %s", e.Describe())
			}
		}
	})
}

// Before there is a sitting, and once it is over, it is said that nothing can be done.
func TestAStationWithoutASitting(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s, pipes := stationOfPipes()
		p := pipes.open(t, s)
		if done, why := p.do(`"do":"freeze"`); done || !strings.Contains(why, "has not begun") {
			t.Errorf("%v, %q", done, why)
		}
		go s.Close("the sitting is over")
		for {
			if _, err := p.read(); err != nil {
				if !strings.Contains(err.Error(), "the sitting is over") {
					t.Error(err)
				}
				break
			}
		}
		p.conn.CloseNow()
		time.Sleep(goodbyeWithin)
		synctest.Wait()
	})
}

// FuzzStationMessage: whatever a page sends is answered once, in a line, and the sitting goes on.
func FuzzStationMessage(f *testing.F) {
	for _, do := range drill.Instructions {
		f.Add([]byte(fmt.Sprintf(`{"kind":"do","id":1,"do":%q,"what":"hot-start","when":{"at":5000},"to":-3.5}`, do)))
		f.Add([]byte(fmt.Sprintf(`{"kind":"do","id":1,"do":%q,"what":"on","to":12}`, do)))
	}
	f.Add([]byte(`{"kind":"do","id":2,"do":"insert","what":"hot-start","when":{"phase":"hover"}}`))
	f.Add([]byte(`{"kind":"voice","id":3,"what":"Hold."}`))
	f.Add([]byte(`{"kind":"handover","id":4}`))
	ex := exercise(f, "first-start")
	f.Fuzz(func(t *testing.T, m []byte) {
		inputs := make(chan desk.Input, 1)
		s := &Station{hub: NewHub(), door: &Door{}}
		s.about, s.hello = About{Ex: ex, Inputs: inputs}, []byte("{}")
		line := &Line{wake: make(chan struct{}, 1)}
		sitting, at := ex.Begin(1, 0), 20*time.Second
		if err := sitting.Advance(at); err != nil {
			t.Fatal(err)
		}
		sitting.Outputs()
		s.take(t.Context(), line, m)
		select {
		case in := <-inputs:
			if err := sitting.Input(at, in.Event); err != nil {
				t.Fatal(err)
			}
			var log []logbook.Entry
			for _, o := range sitting.Outputs() {
				if o, ok := o.(drill.Log); ok {
					log = append(log, o.Entry)
				}
			}
			in.Asker.Told(log)
		default:
		}
		answer, _ := line.next()
		var got struct {
			Kind string
			Done bool
			Why  string
		}
		if err := json.Unmarshal(answer, &got); err != nil || got.Kind == "answer" && !got.Done && got.Why == "" {
			t.Errorf("%q: answered by %s, %v", m, answer, err)
		}
		if more, _ := line.next(); more != nil {
			t.Errorf("%q: answered again by %s", m, more)
		}
	})
}
