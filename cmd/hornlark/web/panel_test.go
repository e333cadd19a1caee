package web_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/websocket"

	"hornlark/cmd/hornlark/desk"
	"hornlark/cmd/hornlark/web"
	"hornlark/drill"
	"hornlark/drill/aircraft"
	"hornlark/drill/drilltest"
	"hornlark/drill/library"
)

// visitor is a page's conversation, held by a WebSocket client that shares nothing with the server's.
type visitor struct {
	*websocket.Conn
	t      *testing.T
	key    string
	client *http.Client
}

// comeIn comes in by an address.
func comeIn(t *testing.T, link string) *visitor {
	t.Helper()
	base, code, ok := strings.Cut(link, "#")
	if !ok || len(code) < 20 {
		t.Fatalf("the address %q has no code", link)
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	v := &visitor{t: t, client: &http.Client{Jar: jar}}
	r, _ := http.NewRequest(http.MethodPost, base+"enter", strings.NewReader(fmt.Sprintf(`{"code":%q}`, code)))
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Origin", strings.TrimSuffix(base, "/"))
	answer, err := v.client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var got struct{ Key, Why string }
	if err := json.NewDecoder(answer.Body).Decode(&got); err != nil || got.Key == "" {
		t.Fatalf("it is not let in: %v %+v", err, got)
	}
	v.key = got.Key
	v.join(base)
	return v
}

func (v *visitor) join(base string) {
	v.t.Helper()
	config, err := websocket.NewConfig("ws"+strings.TrimPrefix(base, "http")+"live", strings.TrimSuffix(base, "/"))
	if err != nil {
		v.t.Fatal(err)
	}
	config.Protocol = []string{"hornlark", v.key}
	for _, c := range v.client.Jar.Cookies(must(http.NewRequest("GET", base, nil)).URL) {
		config.Header.Add("Cookie", c.String())
	}
	if v.Conn, err = websocket.DialConfig(config); err != nil {
		v.t.Fatal(err)
	}
	v.SetDeadline(time.Now().Add(20 * time.Second))
	v.t.Cleanup(func() {
		if v.Conn != nil {
			v.Close()
		}
	})
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func (v *visitor) send(text string) {
	v.t.Helper()
	if err := websocket.Message.Send(v.Conn, text); err != nil {
		v.t.Fatal(err)
	}
}

// await reads up to a message of a kind. On the way it answers for the clock of a page that was opened at that time.
func (v *visitor) await(kind string, opened time.Time) map[string]any {
	v.t.Helper()
	for {
		var text string
		if err := websocket.Message.Receive(v.Conn, &text); err != nil {
			v.t.Fatalf("before %s came: %v", kind, err)
		}
		var m map[string]any
		if err := json.Unmarshal([]byte(text), &m); err != nil {
			v.t.Fatalf("%v: %s", err, text)
		}
		if m["kind"] == "clock" {
			v.send(fmt.Sprintf(`{"kind":"clock","n":%v,"at":%f}`, m["n"], since(opened)))
		}
		if m["kind"] == kind {
			return m
		}
	}
}

// since is what the clock of a page shows that was opened then.
func since(opened time.Time) float64 { return float64(time.Since(opened)) / 1e6 }

// ended reads to the end of the conversation.
func (v *visitor) ended() error {
	for {
		var text string
		if err := websocket.Message.Receive(v.Conn, &text); err != nil {
			return err
		}
	}
}

// panelOf is a panel of the twin that has been opened, with what is pressed on it.
func panelOf(t *testing.T, news func(string)) (*web.Panel, *drill.Sitting, <-chan desk.Input) {
	t.Helper()
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	setup := drilltest.Of(t, lib, "first-start")
	ex, err := drill.Compile(setup.Documents)
	if err != nil {
		t.Fatal(err)
	}
	inputs := make(chan desk.Input, 16)
	p, err := web.OpenPanel(t.Context(), web.PanelOptions{
		Profile: setup.Profile, Title: "a start", Caution: "not for flight", Policy: ex.Policy(), Inputs: inputs, News: news,
		Level: func(up bool) string { return fmt.Sprintf("louder: %v", up) },
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.Close("over") })
	return p, ex.Begin(7, drilltest.Lead), inputs
}

// The conversation of a panel from its beginning to its end, as another's client has it.
func TestTheConversationOfAPanel(t *testing.T) {
	p, sitting, inputs := panelOf(t, nil)
	began := time.Now().Add(-time.Minute) // of the page
	v := comeIn(t, p.Link())
	hello := v.await("hello", began)
	if hello["title"] != "a start" || hello["caution"] != "not for flight" || hello["begun"] != false {
		t.Errorf("it is greeted with %v", hello)
	}
	face := hello["face"].(map[string]any)
	if got := len(face["gauges"].([]any)); got != 25 {
		t.Errorf("the face has %d gauges", got)
	}
	v.send(`{"kind":"step","step":0.005}`)
	v.send(`{"kind":"press","key":"1","shift":false,"char":"1","at":1}`) // before there is a sitting it is nothing
	for range 4 {
		v.await("clock", began)
	}
	select {
	case <-p.Ready():
		t.Error("it is ready before anybody said so")
	default:
	}
	v.send(`{"kind":"ready"}`)
	<-p.Ready()
	p.Begin()
	v.await("begun", began)

	var view drill.View
	sitting.View(&view)
	p.Update(&view)
	scene := v.await("scene", began)
	if len(scene["readings"].([]any)) != 25 || len(scene["lit"].(string)) != len(view.Lit) {
		t.Errorf("the scene is %v", scene)
	}
	view.Said = []drill.Line{{Who: "challenger", Text: "Battery"}}
	p.Update(&view)
	if lines := v.await("said", began)["lines"].([]any); len(lines) != 1 {
		t.Errorf("what was said is %v", lines)
	}
	p.Notice("a line")
	p.Silent(true)
	if got := v.await("notice", began); got["text"] != "a line" {
		t.Error(got)
	}
	if got := v.await("silent", began); got["is"] != true {
		t.Error(got)
	}
	v.send(`{"kind":"level","up":true}`)
	if got := v.await("level", began); got["text"] != "louder: true" {
		t.Error(got)
	}

	for _, c := range []struct{ message, event, reading string }{
		{`"key":"1","shift":false,"char":"1"`, "1", "1"},
		{`"key":"a","shift":true,"char":"A"`, "shift+a", "shift+a"},
		{`"key":"enter","shift":true,"char":""`, "enter", "enter"},
		{`"key":"","shift":false,"char":"7"`, "", "7"}, // a figure of the pad on the screen: nothing unless a reading is typed
		{`"key":"esc","shift":false,"char":"-"`, "esc", "-"},
		{`"key":".","shift":false,"char":","`, ".", "."},
	} {
		pressed := time.Now()
		stamp := since(began)
		time.Sleep(3 * time.Millisecond) // on its way
		v.send(fmt.Sprintf(`{"kind":"press",%s,"at":%f}`, c.message, stamp))
		in := <-inputs
		event, reading := in.Event.(drill.Press), in.Reading.(drill.Press)
		if event.String() != c.event || reading.String() != c.reading || in.Deed != desk.Acts {
			t.Errorf("%s is %q, and while a reading is typed %q", c.message, event, reading)
		}
		if wrong := in.At.Sub(pressed).Abs(); wrong > in.Uncertainty || in.Uncertainty <= 0 || in.Uncertainty > time.Second {
			t.Errorf("it is stamped %v off, and stated is %v", wrong, in.Uncertainty)
		}
	}
	v.send(`{"kind":"leave"}`)
	if in := <-inputs; in.Deed != desk.Leaves {
		t.Errorf("to leave is %+v", in)
	}
	p.Report([]string{"PASSED", "every \x1b[31mcriterion"})
	go p.Close("the sitting is over")
	if lines := v.await("report", began)["lines"].([]any); len(lines) != 2 || lines[1] != `every \u001b[31mcriterion` {
		t.Errorf("the report is %q", lines)
	}
	if err := v.ended(); err != io.EOF {
		t.Errorf("it ends with %v", err)
	}
}

// What no page of ours sends ends the conversation, and is nothing to the sitting.
func TestAPanelTakesNothingElse(t *testing.T) {
	hostile := []string{
		`{"kind":"press","key":"nothing","at":1}`, `{"kind":"press","key":"1","char":"ab","at":1}`, `{"kind":"press","key":"1","at":"now"}`,
		`{"kind":"insert","what":"fire-ground"}`, `{"kind":"press","key":"1","at":1,"seat":"instructor"}`, `{"kind":"clock","n":77,"at":1}`,
		`{}`, `[]`, `"press"`, `null`, `{"kind":"ready"}{"kind":"ready"}`, `{"kind":"press","key":"stop","at":1e999}`, "\xff", ``,
	}
	for few := range slices.Chunk(hostile, 7) { // a door does not let anybody connect more often at once
		p, _, inputs := panelOf(t, nil)
		began := time.Now()
		v := comeIn(t, p.Link())
		v.await("hello", began)
		v.send(`{"kind":"ready"}`)
		p.Begin()
		for _, message := range few {
			v.send(message)
			if err := v.ended(); err != io.EOF {
				t.Errorf("%s: it ends with %v", message, err)
			}
			v.join(strings.SplitN(p.Link(), "#", 2)[0])
			v.await("hello", began)
		}
		select {
		case in := <-inputs:
			t.Errorf("the sitting was told %+v", in)
		default:
		}
	}
}

// Where nobody sees a sitting any more it is paused, the way back in is told, and whoever comes back finds it as it is.
func TestAPageThatGoes(t *testing.T) {
	news := make(chan string, 16)
	p, sitting, inputs := panelOf(t, func(line string) { news <- line })
	began := time.Now()
	v := comeIn(t, p.Link())
	v.await("hello", began)
	if line := <-news; line != "The page is there." {
		t.Errorf("it is told %q", line)
	}
	v.send(`{"kind":"ready"}`)
	<-p.Ready()
	p.Begin()
	v.Close()
	if in := <-inputs; in.Deed != desk.Suspends {
		t.Errorf("it is %+v", in)
	}
	line := <-news
	link, ok := strings.CutPrefix(line, "The page has gone; the sitting is paused. Load it again, or open this one: ")
	if !ok {
		t.Fatalf("it is told %q", line)
	}
	other := comeIn(t, link)
	if hello := other.await("hello", began); hello["begun"] != true {
		t.Error("whoever comes back is to begin again")
	}
	var view drill.View
	sitting.View(&view)
	p.Update(&view)
	other.await("scene", began)
	select {
	case in := <-inputs:
		t.Errorf("the sitting was told %+v", in)
	default:
	}
}

// What is sent for a view hangs on it and those before it alone: as often as something is new, and ten times a second otherwise; and nothing of an
// aircraft whose time stands still.
func TestWhatAPanelIsSent(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	setup := drilltest.Of(t, lib, "hover-alerts")
	ex, err := drill.Compile(setup.Documents)
	if err != nil {
		t.Fatal(err)
	}
	s := ex.Begin(1, drilltest.Lead)
	sends := web.NewSends(web.NewFace(setup.Profile, "", ""))
	var view drill.View
	scenes, bytesSent := 0, 0
	for now := time.Duration(0); now < 2*time.Second; now += aircraft.StepLength {
		if err := s.Advance(now); err != nil {
			t.Fatal(err)
		}
		s.View(&view)
		_, scene := sends.Of(&view)
		if scene != nil {
			scenes++
			bytesSent += len(scene)
		}
		if _, again := sends.Of(&view); again != nil {
			t.Fatalf("at %v the same is sent twice", now)
		}
	}
	if scenes < 20 || bytesSent/scenes > 1500 {
		t.Errorf("%d scenes in 2 s, of %d bytes", scenes, bytesSent/scenes)
	}
	view.Paused = true
	_, scene := sends.Of(&view)
	if scene == nil || !bytes.Contains(scene, []byte(`"readings":[]`)) || !bytes.Contains(scene, []byte(`"lit":""`)) || !bytes.Contains(scene, []byte(`"facts":""`)) {
		t.Errorf("while it is paused it is sent %s", scene)
	}
	if sends.Anew(); true {
		if said, scene := sends.Of(&view); said == nil || scene == nil {
			t.Error("who comes new is not told all")
		}
	}
	if !slices.ContainsFunc(view.Alive, func(b bool) bool { return b }) {
		t.Error("nothing was alive, so nothing was shown")
	}
}
