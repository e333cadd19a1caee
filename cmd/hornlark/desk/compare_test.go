package desk

import (
	"encoding/json"
	"errors"
	"fmt"
	"testing"
)

func TestFirstDifference(t *testing.T) {
	for _, c := range []struct{ a, b, want string }{
		{`{"a":1,"b":[1,2]}`, `{"b":[1,2],"a":1}`, ""},
		{`{"a":1,"b":[1,2]}`, `{"a":1,"b":[1,3]}`, "b[1]: 2, 3"},
		{`{"a":[]}`, `{"a":[{"x":1}]}`, `a[0]: nothing, {"x":1}`},
		{`{"a":{"x":1}}`, `{"a":7}`, `a: {"x":1}, 7`},
		{`7`, `{"a":7}`, `the whole: 7, {"a":7}`},
		{`null`, `null`, ""},
		{`{"a":null}`, `{}`, ""},
	} {
		var a, b any
		if err := errors.Join(json.Unmarshal([]byte(c.a), &a), json.Unmarshal([]byte(c.b), &b)); err != nil {
			t.Fatal(err)
		}
		got := ""
		if d := FirstDifference(a, b); d != nil {
			got = fmt.Sprintf("%s: %s, %s", d.Where, d.Was, d.Now)
		}
		if got != c.want {
			t.Errorf("%s and %s: %q; wanted %q", c.a, c.b, got, c.want)
		}
	}
}
