package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"

	"hornlark/cmd/hornlark/desk"
	"hornlark/drill"
	"hornlark/drill/logbook"
)

func TestPlaces(t *testing.T) {
	for written, want := range map[string][2]string{
		"192.168.1.7:4700": {"http://192.168.1.7:4700", ""}, "http://192.168.1.7:4700/": {"http://192.168.1.7:4700", ""}, ":4701": {"http://127.0.0.1:4701", ""},
		"http://127.0.0.1:4700/#ABCD-EFGH": {"http://127.0.0.1:4700", "ABCD-EFGH"}, "[::1]:4700#A": {"http://[::1]:4700", "A"},
	} {
		address, code, err := ParsePlace(written)
		if err != nil || address != want[0] || code != want[1] {
			t.Errorf("%s: %s, %s, %v", written, address, code, err)
		}
	}
	for _, written := range []string{"", "kim", ":0", "0.0.0.0:4700", "https://192.168.1.7:4700/", "http://example.org:80/", "192.168.1.7:4700/x", "192.168.1.7:4700#" + strings.Repeat("A", 65)} {
		if address, _, err := ParsePlace(written); err == nil {
			t.Errorf("%q is %s", written, address)
		}
	}
}

// answering is a station on the network whose sitting does what it is asked at once; hello says whose it is.
func answering(t *testing.T, trainee string) *Station {
	t.Helper()
	s, err := OpenStation(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	inputs := make(chan desk.Input, 8)
	ended := make(chan struct{})
	go func() {
		for {
			select {
			case in := <-inputs:
				e := in.Event.(drill.Instruct)
				in.Asker.Told([]logbook.Entry{{Kind: logbook.Instruct, Seat: logbook.Instructor, Name: string(e.Do)}})
			case <-ended:
				return
			}
		}
	}()
	t.Cleanup(func() { s.Close("the sitting is over"); close(ended) })
	s.mu.Lock()
	s.about, s.hello = About{Inputs: inputs}, encoded(map[string]string{"kind": "hello", "trainee": trainee})
	s.told = []event{{At: 1, Text: "as it was"}}
	s.mu.Unlock()
	return s
}

// classPage is the page of a class, as a program opens it.
func classPage(t *testing.T, c *Class) (next func(what string, is func(map[string]any) bool) map[string]any, send func(string)) {
	t.Helper()
	origin := strings.TrimSuffix(c.door.Addresses()[0], "/")
	r, _ := http.NewRequest("POST", origin+"/enter", strings.NewReader(fmt.Sprintf(`{"code":%q}`, c.door.Code())))
	r.Header.Set("Origin", origin)
	r.Header.Set("Content-Type", "application/json")
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	var got struct{ Key string }
	if err := json.NewDecoder(answer.Body).Decode(&got); err != nil {
		t.Fatal(err)
	}
	cookie := answer.Cookies()[0]
	conn, _, err := websocket.Dial(t.Context(), strings.Replace(origin, "http", "ws", 1)+"/live", &websocket.DialOptions{
		HTTPHeader: http.Header{"Origin": {origin}, "Cookie": {cookie.Name + "=" + cookie.Value}}, Subprotocols: []string{"hornlark", got.Key},
	})
	if err != nil {
		t.Fatal(err)
	}
	conn.SetReadLimit(8 << 20)
	t.Cleanup(func() { conn.CloseNow() })
	next = func(what string, is func(map[string]any) bool) map[string]any {
		t.Helper()
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
		defer cancel()
		for {
			_, body, err := conn.Read(ctx)
			if err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			var m map[string]any
			if err := json.Unmarshal(body, &m); err != nil {
				t.Fatal(err)
			}
			if is(m) {
				return m
			}
		}
	}
	send = func(m string) {
		t.Helper()
		if err := conn.Write(t.Context(), websocket.MessageText, []byte(m)); err != nil {
			t.Fatal(err)
		}
	}
	return next, send
}

// from is a message of the station of a sitting, of a kind.
func from(n int, kind string, is func(map[string]any) bool) func(map[string]any) bool {
	return func(m map[string]any) bool {
		inner, _ := m["m"].(map[string]any)
		return m["kind"] == "from" && m["n"] == float64(n) && inner["kind"] == kind && (is == nil || is(inner))
	}
}

// One page has several sittings: it enters each by its code, and what is done goes to the one that is meant; a wrong code, a code that has
// been used, an address where nobody is, and a sitting that ends are told where they belong, and the others go on.
func TestAClassOfSittings(t *testing.T) {
	c, err := OpenClass(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close("the test is over")
	kim, lee := answering(t, "kim"), answering(t, "lee")
	if err := c.Add(kim.door.Links()[0], ""); err != nil {
		t.Fatal(err)
	}
	next, send := classPage(t, c)
	is := func(key string, value any) func(map[string]any) bool {
		return func(m map[string]any) bool { return m[key] == value }
	}
	next("kim", from(1, "hello", is("trainee", "kim")))
	next("what was before", from(1, "lines", func(m map[string]any) bool { return len(m["lines"].([]any)) == 1 }))

	place := func(n int, wants bool, state string) func(map[string]any) bool {
		return func(m map[string]any) bool {
			text, _ := m["state"].(string)
			return m["kind"] == "place" && m["n"] == float64(n) && m["wants"] == wants && strings.Contains(text, state)
		}
	}
	at := lee.door.Addresses()[0]
	send(fmt.Sprintf(`{"kind":"add","address":%q,"code":"AAAA-AAAA"}`, at))
	next("a wrong code", place(2, true, "that is not the code"))
	send(`{"kind":"to","n":2,"m":{"kind":"do","id":4,"do":"freeze"}}`)
	next("not connected", from(2, "answer", func(m map[string]any) bool { return m["done"] == false && m["id"] == 4.0 }))
	send(fmt.Sprintf(`{"kind":"add","address":%q,"code":%q}`, at, lee.door.Code()))
	next("lee", from(2, "hello", is("trainee", "lee")))

	send(`{"kind":"to","n":2,"m":{"kind":"do","id":5,"do":"remark","what":"Steady."}}`)
	next("lee's answer", from(2, "answer", func(m map[string]any) bool { return m["done"] == true && m["id"] == 5.0 }))
	send(`{"kind":"to","n":1,"m":{"kind":"do","id":6,"do":"remark","what":"Steady."}}`)
	next("kim's answer", from(1, "answer", func(m map[string]any) bool { return m["done"] == true && m["id"] == 6.0 }))

	for _, m := range []string{`{`, `{"kind":"no"}`, `{"kind":"add","address":"example.org:80"}`, `{"kind":"look","more":1}`, `{"kind":"add","address":":0"}`} {
		send(m)
		next(m, func(m map[string]any) bool { return m["kind"] == "refused" && m["why"] != "" })
	}
	send(`{"kind":"to","n":7,"m":{"id":1}}`)
	next("no such sitting", from(7, "answer", is("done", false)))
	kim.Close("the sitting is over")
	next("kim's end", place(1, true, "the sitting is over"))
	send(`{"kind":"to","n":2,"m":{"kind":"do","id":8,"do":"remark","what":"Still here."}}`)
	next("lee still", from(2, "answer", func(m map[string]any) bool { return m["done"] == true && m["id"] == 8.0 }))
}

// A class is bounded, and reads of an address that is there already only its code.
func TestAClassIsBounded(t *testing.T) {
	c, err := OpenClass(t.Context(), "")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close("the test is over")
	for i := range MostPlaces {
		for range 2 {
			if err := c.Add(fmt.Sprintf("127.0.0.1:%d", 1+i), ""); err != nil {
				t.Error(err)
			}
		}
	}
	if err := c.Add("127.0.0.1:99", ""); err == nil || !strings.Contains(err.Error(), "at most") {
		t.Errorf("one more: %v", err)
	}
}
