package record

import (
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The quick look at a value agrees with the form that it would have.
func TestOnceEachIsAsCanonical(t *testing.T) {
	for _, text := range []string{
		`{"a":1,"a":2}`, `{"a":{"b":1},"b":[{"a":1},{"a":2}]}`, `{"a":1,"\u0061":2}`, `{"a\"":1,"a\"":2}`, `{"x":"\\","x":1}`, `{"x":["a","a",{"a":"a"}],"a":"x"}`,
		`[1e400]`, `[-1E+400]`, `[1e308,0.1,-0]`, `"a"`, `1`, `[]`, `{}`, `[[],{}]`, ` { "a" : [ ] , "a" : { } } `, `{"":1,"":2}`, `{"\ud800":1,"\ufffd":2}`,
		`[` + strings.Repeat("9", 400) + `]`, `{"` + "\xff" + `":1,"` + "\xfe" + `":2}`,
	} {
		agrees(t, text)
	}
	rapid.Check(t, func(rt *rapid.T) {
		var value func(depth int) string
		value = func(depth int) string {
			kind := rapid.IntRange(0, 4).Draw(rt, "kind")
			if depth > 3 {
				kind %= 3
			}
			switch kind {
			case 0:
				return rapid.SampledFrom([]string{"0", "-1.5", "1e5", "1e999", "true", "false", "null", "12345678901234567890123"}).Draw(rt, "plain")
			case 1, 2:
				return rapid.SampledFrom([]string{`"a"`, `"\u0061"`, `"\""`, `"\\"`, `"{\"a\":1"`, `"ü"`, `""`, `"},["`}).Draw(rt, "text")
			}
			var parts []string
			for range rapid.IntRange(0, 4).Draw(rt, "n") {
				part := value(depth + 1)
				if kind == 3 {
					part = rapid.SampledFrom([]string{`"a"`, `"\u0061"`, `"b"`, `"c\\"`, `"c\""`, `"ü"`}).Draw(rt, "name") + " : " + part
				}
				parts = append(parts, part)
			}
			list := strings.Join(parts, " ,\n")
			if kind == 3 {
				return "{" + list + "}"
			}
			return "[" + list + "]"
		}
		agrees(rt, value(0))
	})
}

func agrees(t interface{ Errorf(string, ...any) }, text string) {
	if !json.Valid([]byte(text)) {
		t.Errorf("%s is no JSON", text)
		return
	}
	_, err := canonical([]byte(text))
	if quick := onceEach([]byte(text)); (quick == nil) != (err == nil) || err != nil && quick.Error() != err.Error() {
		t.Errorf("%s: %v, and at a glance %v", text, err, quick)
	}
}
