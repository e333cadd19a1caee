package main

import (
	"strings"
	"testing"
)

// The lines are as the go command writes them ("go doc test2json").
func TestTally(t *testing.T) {
	for _, test := range []struct {
		name, in string
		want     []string
		last     string
	}{
		{"every level once", `
{"Action":"run","Package":"p","Test":"TestA"}
{"Action":"run","Package":"p","Test":"TestA/b"}
{"Action":"output","Package":"p","Test":"TestA/b","Output":"    a_test.go:3: chatter\n"}
{"Action":"pass","Package":"p","Test":"TestA/b","Elapsed":0}
{"Action":"pass","Package":"p","Test":"TestA","Elapsed":0}
{"Action":"pass","Package":"p","Elapsed":0.5}
`, []string{"ok    p"}, "2 passed, 0 failed, 0 skipped"},
		{"skipped, with the reason", `
{"Action":"output","Package":"p","Test":"TestA","Output":"=== RUN   TestA\n"}
{"Action":"output","Package":"p","Test":"TestA","Output":"    a_test.go:3: there is no device\n"}
{"Action":"output","Package":"p","Test":"TestA","Output":"--- SKIP: TestA (0.00s)\n"}
{"Action":"skip","Package":"p","Test":"TestA"}
`, []string{"p TestA: a_test.go:3: there is no device"}, "0 passed, 0 failed, 1 skipped"},
		{"failed", `
{"Action":"output","Package":"p","Test":"TestA","Output":"    a_test.go:3: 2, want 3\n"}
{"Action":"fail","Package":"p","Test":"TestA"}
{"Action":"fail","Package":"p"}
`, []string{"a_test.go:3: 2, want 3", "FAIL  p"}, "0 passed, 1 failed, 0 skipped"},
		{"does not build", `
{"ImportPath":"p","Action":"build-output","Output":"p/a.go:1:1: no\n"}
{"ImportPath":"p","Action":"build-fail"}
{"Action":"output","Package":"p","Output":"FAIL\tp [build failed]\n"}
{"Action":"fail","Package":"p","FailedBuild":"p"}
`, []string{"p/a.go:1:1: no", "[build failed]"}, "0 passed, 1 failed, 0 skipped"},
		{"a panic ends the process", `
{"Action":"run","Package":"p","Test":"TestA"}
{"Action":"output","Package":"p","Test":"TestA","Output":"panic: boom\n"}
{"Action":"fail","Package":"p"}
`, []string{"panic: boom"}, "0 passed, 1 failed, 0 skipped"},
	} {
		t.Run(test.name, func(t *testing.T) {
			var out strings.Builder
			tally := newTally(&out)
			if err := tally.read(strings.NewReader(test.in)); err != nil {
				t.Fatal(err)
			}
			tally.sum()
			for _, want := range test.want {
				if !strings.Contains(out.String(), want) {
					t.Errorf("%q is not in\n%s", want, out.String())
				}
			}
			if !strings.HasSuffix(out.String(), "\n"+test.last+"\n") {
				t.Errorf("it does not end with %q:\n%s", test.last, out.String())
			}
		})
	}
}
