package inert_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"hornlark/drill/inert"
)

// The characters with the property Bidi_Control, as the Unicode Character Database has it (PropList.txt), and the library with it.
func TestEveryCharacter(t *testing.T) {
	for r := rune(0); r <= unicode.MaxRune; r++ {
		if unicode.Is(unicode.Cs, r) {
			continue
		}
		wants := (unicode.Is(unicode.Bidi_Control, r) || unicode.IsControl(r) || !unicode.IsGraphic(r)) && r != 0x200c && r != 0x200d
		if inert.Acts(r) != wants {
			t.Errorf("%U acts: %v", r, !wants)
		}
		for _, c := range inert.Line(string(r)) {
			if inert.Acts(c) {
				t.Errorf("%U is shown with %U", r, c)
			}
		}
	}
}

func TestText(t *testing.T) {
	for in, want := range map[string]string{
		"":                      "",
		"NR 100 %, 15 °C\tü\n":  "NR 100 %, 15 °C\tü\n",
		"\x1b[31mred\x1b[0m":    `\u001b[31mred\u001b[0m`,
		"\x1b]0;title\a":        `\u001b]0;title\u0007`,
		"a\rb\bc\x7f":           `a\u000db\u0008c\u007f`,
		"\u009b31m":             `\u009b31m`, // the control sequence introducer in one character
		"kim\u202egnp.exe":      `kim\u202egnp.exe`,
		"\u2066a\u2069\u061c":   `\u2066a\u2069\u061c`,
		"\x9b31m\xff":           `\x9b31m\xff`,
		"zero\u200bwidth\ufeff": `zero\u200bwidth\ufeff`,
		"tag \U000e0041":        `tag \U000e0041`,
		"line\u2028par\u2029":   `line\u2028par\u2029`,
	} {
		if got := inert.Text(in); got != want {
			t.Errorf("%q is shown as %s, want %s", in, got, want)
		}
	}
	if got := inert.Line("a\nb\tc"); got != `a\u000ab\u0009c` {
		t.Errorf("a line is shown as %s", got)
	}
}

// pieces draws a text, and cuts it anywhere.
func pieces(rt *rapid.T) (string, [][]byte) {
	text := rapid.OneOf(
		rapid.String(),
		rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }),
		rapid.Map(rapid.SliceOf(rapid.SampledFrom([]string{"\x1b[2J", "\u202e", "=", "'", `\`, `"`, "\xe2\x80", "ü", "\U000e0041", "\n", "a"})), func(s []string) string { return strings.Join(s, "") }),
	).Draw(rt, "text")
	var cut [][]byte
	for rest := []byte(text); len(rest) > 0; {
		n := rapid.IntRange(1, len(rest)).Draw(rt, "n")
		cut, rest = append(cut, rest[:n]), rest[n:]
	}
	return text, cut
}

// However a text is cut, the writer shows it as Text does.
func TestWriterShowsAsText(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text, cut := pieces(rt)
		var out bytes.Buffer
		w := inert.NewWriter(&out)
		for _, p := range cut {
			w.Write(p)
		}
		if err := w.Close(); err != nil || out.String() != inert.Text(text) {
			rt.Fatalf("%q comes out as %q, want %q (%v)", text, out.String(), inert.Text(text), err)
		}
		var page bytes.Buffer
		m := inert.Markup(&page)
		m.Write([]byte(text + "."))
		if page.String() != inert.Text(text+".") {
			rt.Fatalf("%q stands in a page as %q", text, page.String())
		}
	})
}

// Names with line ends in them do not make two lines of a message, however the message has them; its own lines stay.
func TestNamesStandInOneLine(t *testing.T) {
	for _, c := range []struct{ name, message, want string }{
		{"no/a\nhornlark: b.yaml", "hornlark: open no/a\nhornlark: b.yaml: none\n", `hornlark: open no/a\u000ahornlark: b.yaml: none` + "\n"},
		{"./no/../x\ny", "stat /tmp/x\ny: none\nnext\n", `stat /tmp/x\u000ay: none` + "\nnext\n"},
		{"--out=a\tb", "a\tb: none\n", `a\u0009b: none` + "\n"},
		{"x\n", "open x\n: none\nx\n", `open x\u000a: none` + "\nx\n"},
		{"\nx", "open /d/\nx: none\nx\n", `open /d/\u000ax: none` + "\nx\n"},
		{"a\n\nb", "a\n\nb: none\n\nb\n", `a\u000a\u000ab: none` + "\n\nb\n"},
		{"\n", "one\ntwo\n", "one\ntwo\n"},
		{"plain", "plain\n", "plain\n"},
	} {
		var out bytes.Buffer
		w := inert.NewWriter(&out)
		w.InLine(c.name)
		w.Write([]byte(c.message))
		if err := w.Close(); err != nil || out.String() != c.want {
			t.Errorf("%q: %q is shown as %q, want %q", c.name, c.message, out.String(), c.want)
		}
	}
}

// Whoever reads the JSON gets the strings that were written, and nothing in it acts.
func TestJSONIsTheSame(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		text, _ := pieces(rt)
		var out bytes.Buffer
		enc := json.NewEncoder(inert.JSON(&out))
		enc.SetEscapeHTML(false)
		if err := enc.Encode(map[string]string{text: text}); err != nil {
			rt.Fatal(err)
		}
		lookAt(rt, out.Bytes(), "\n")
		var got map[string]string
		want := strings.ToValidUTF8(text, "\ufffd")
		if json.Unmarshal(out.Bytes(), &got); len(got) != 1 {
			rt.Fatalf("%q: %s", text, out.Bytes())
		}
		for k, v := range got {
			if k != v || strings.ReplaceAll(k, "\ufffd", "") != strings.ReplaceAll(want, "\ufffd", "") {
				rt.Fatalf("%q comes back as %q", text, k)
			}
		}
	})
}

// A table comes back as it was, by another reader of CSV and Of; no cell begins as a formula does, in this locale or another.
func TestTableComesBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var rows [][]string
		var out bytes.Buffer
		table := inert.NewTable(&out)
		width := rapid.IntRange(2, 5).Draw(rt, "width")
		for range rapid.IntRange(1, 5).Draw(rt, "rows") {
			var row []string
			for range width {
				text, _ := pieces(rt)
				row = append(row, text)
			}
			rows = append(rows, row)
			table.Write(row)
		}
		if err := table.Close(); err != nil {
			rt.Fatal(err)
		}
		lookAt(rt, out.Bytes(), "\r\n")
		read, err := csv.NewReader(&out).ReadAll()
		if err != nil {
			rt.Fatal(err)
		}
		for i := range read {
			for j, cell := range read[i] {
				formula(rt, cell)
				if read[i][j], err = inert.Of(cell); err != nil {
					rt.Fatal(err)
				}
			}
		}
		if !slices.EqualFunc(read, rows, slices.Equal[[]string]) {
			rt.Fatalf("%q comes back as %q", rows, read)
		}
	})
}

// formula looks at how a cell begins. The signs are those of OWASP, "CSV Injection".
func formula(rt *rapid.T, cell string) {
	if cell == "" || !strings.ContainsAny(cell[:1], "=+-@\t\r\n") && !slices.ContainsFunc([]string{"＝", "＋", "－", "＠"}, func(s string) bool { return strings.HasPrefix(cell, s) }) {
		return
	}
	if strings.Trim(cell, "0123456789.eE+-") != "" || !strings.ContainsAny(cell[1:2], "0123456789") {
		rt.Fatalf("the cell %q may be taken for a formula", cell)
	}
}

func lookAt(rt *rapid.T, out []byte, but string) {
	for i, n := 0, 0; i < len(out); i += n {
		var r rune
		r, n = utf8.DecodeRune(out[i:])
		if r == utf8.RuneError && n == 1 || inert.Acts(r) && !strings.ContainsRune(but, r) {
			rt.Fatalf("%q has %U in it", out, r)
		}
	}
}

func TestCells(t *testing.T) {
	for in, want := range map[string]string{
		"=1+1": "'=1+1", "+cmd|' /C calc'!A0": "'+cmd|' /C calc'!A0", "-2+3": "'-2+3", "@SUM(A1)": "'@SUM(A1)", "＝1": "'＝1",
		"-12.5": "-12.5", "+3": "+3", "-1e3": "-1e3", "'tis": "''tis", "\t=1": `\u0009=1`, "\r=1": `\u000d=1`, `C:\x`: `C:\\x`, "kim": "kim",
	} {
		if got := inert.Cell(in); got != want {
			t.Errorf("%q becomes %q, want %q", in, got, want)
		}
	}
	for _, bad := range []string{`\`, `a\q`, `\u00`, `\u00zz`} {
		if got, err := inert.Of(bad); err == nil {
			t.Errorf("%q is taken for %q", bad, got)
		}
	}
}
