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

// What another program writes anew, with other blanks, escapes and forms of numbers, is what it was; whole numbers keep all their digits.
func TestAsWritten(t *testing.T) {
	const was = `{"b":18446744073709551614,"a":[1.5,1000,-0.25,{},[]],"text":"<&> \"ü\" \\","c":null,"d":true}`
	for _, text := range []string{
		was,
		" { \"b\" : 18446744073709551614 ,\n\"a\":[1.50, 1e3 ,-25E-2,{ },[ ]],\"text\":\"\\u003c\\u0026> \\u0022\\u00fc\\u0022 \\u005c\",\"c\":null,\"d\":true}\n",
	} {
		if got, err := asWritten([]byte(text)); err != nil || string(got) != was {
			t.Errorf("%s: %s, %v; wanted %s", text, got, err, was)
		}
	}
	for _, text := range []string{``, `{`, `{"a"`, `[1,`, `{"a":~}`} {
		if got, err := asWritten([]byte(text)); err == nil {
			t.Errorf("%s is %s", text, got)
		}
	}
	if got, err := asWritten([]byte(`[1e999]`)); err != nil || string(got) != `[1e999]` {
		t.Errorf("a number that is none here is %s, %v", got, err)
	}
}

// All texts of one value have one form, and no two values share it.
func TestCanonical(t *testing.T) {
	seen := map[string]int{}
	for i, same := range [][]string{
		{`0`, `-0`, `0.0`, `0e5`}, {`1`, `1.0`, `1e0`, `10E-1`}, {`-1`, `-1.00`}, {`0.1`, `1e-1`, `0.10`}, {`1.5`, `15e-1`},
		{`9007199254740991`, `9007199254740991.0`}, {`9007199254740992`, `9007199254740992.0`, `9007199254740992e0`}, {`-9007199254740992`, `-9007199254740992.0`}, {`9007199254740993`}, {`18446744073709551614`}, {`18446744073709551615`}, {`-18446744073709551615`},
		{`"1"`, `"\u0031"`}, {`"<&>"`, `"\u003c\u0026\u003e"`}, {`[1]`, ` [ 1.0 ] `}, {`{"a":1,"b":[2,{"d":3,"c":4}]}`, `{"b":[2,{"c":4.0,"d":3}], "a":1}`}, {`[]`}, {`{}`}, {`null`}, {`true`},
		{`{"a":[1,2]}`}, {`{"a":[2,1]}`},
	} {
		for _, text := range same {
			form, err := canonical([]byte(text))
			if err != nil {
				t.Errorf("%s: %v", text, err)
			}
			if was, ok := seen[string(form)]; ok && was != i {
				t.Errorf("%s is %s, as another value is", text, form)
			} else if !ok && text != same[0] {
				t.Errorf("%s is %s, and %s is not", text, form, same[0])
			}
			seen[string(form)] = i
		}
	}
	for _, text := range []string{`1 2`, `{} []`, `{`, `[1,`, `{"a":1,"a":1}`, `1e999`, `{1:2}`, ``} {
		if form, err := canonical([]byte(text)); err == nil {
			t.Errorf("%s is %s", text, form)
		}
	}
}
