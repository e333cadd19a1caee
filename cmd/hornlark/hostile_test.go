//go:build unix

package main

import (
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"database/sql"
	"encoding/base64"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"golang.org/x/net/html"

	"hornlark/drill/inert"
)

// hostile are pieces of text that do something where they are shown, or opened.
var hostile = []struct{ name, text string }{
	// ECMA-48, 8.3: colours, erasing, moving; titles and links; a control sequence introducer in one character; and what overwrites.
	{"controls", "a\x1b[31m\x1b[2J\x1b[H\x1b]0;t\x07\x1b]8;;https://x.example\x1b\\b\u009b31m\u009d0;t\u009cno\b\byes\x7fwrong\rright"},
	{"directions", "kim\u202egnp\u202ca\u2066b\u2067c\u2068d\u2069e\u200ef\u200fg\u061ch\u202ai\u202bj\u202dk"}, // UAX #9
	{"unseen", "z\u200bw\ufeffs\u00adp\u2028l\u2029x\U000e0041"},
	{"formula", "=cmd|' /C calc'!A0;=1+1,\"@b\""},
	{"markup", `<script>x()</script>&<b onclick=x()>"'`},
	{"no UTF-8", "\x9b31m\xff\xc3("},
}

// inYAML is a text between the double quotes of YAML 1.2.2, 5.7, or as bytes where it is no UTF-8.
func inYAML(text string) string {
	if !utf8.ValidString(text) {
		return `"` + text + `"`
	}
	var b strings.Builder
	for _, r := range text {
		if inert.Acts(r) || r == '"' || r == '\\' {
			fmt.Fprintf(&b, `\U%08x`, r)
		} else {
			b.WriteRune(r)
		}
	}
	return `"` + b.String() + `"`
}

// acting looks at bytes that came out: everything that is not to be seen has to be an escape. but are characters that may be there.
func acting(out []byte, but string) (rune, int) {
	for i, n := 0, 0; i < len(out); i += n {
		var r rune
		r, n = utf8.DecodeRune(out[i:])
		if r == utf8.RuneError && n == 1 || inert.Acts(r) && !strings.ContainsRune("\n\t"+but, r) {
			return r, i
		}
	}
	return 0, -1
}

// Whatever stands in documents, files, names and options, nothing that acts comes out of any command or export. Every command meets every
// third of the texts, and every text a third of the commands, unless HORNLARK_EVERY asks for all.
func TestHostileTexts(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	at := func(name string) string { return filepath.Join(d.dir, name) }
	write := func(name, body string) string {
		if err := os.MkdirAll(filepath.Dir(at(name)), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at(name), []byte(body), 0o600); err != nil {
			t.Fatal(err)
		}
		return name
	}
	profile, err := os.ReadFile(filepath.Join("..", "..", "drill", "library", "profiles", "dunlin-lt.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	ran, shown := 0, 0
	run := func(args ...string) (out []byte, status int) {
		t.Helper()
		ran++
		stdout, stderr, status := d.carry(args...)
		but := "" // RFC 4180, 2.1: lines of a table end in CRLF
		if i := strings.Join(args, " "); strings.Contains(i, "csv") {
			but = "\r"
		}
		for name, said := range map[string][]byte{"stdout": stdout, "stderr": stderr} {
			if r, i := acting(said, but); i >= 0 {
				t.Errorf("%q lets %U through on %s: %.120q", args, r, name, said[max(0, i-40):])
			}
			if bytes.Contains(said, []byte(`\u`)) || bytes.Contains(said, []byte(`\x`)) {
				shown++
			}
		}
		return stdout, status
	}
	for n, h := range hostile {
		dir := fmt.Sprintf("h%d", n)
		text := inYAML(h.text)
		write(dir+"/procedure.yaml", `name: mine
title: `+text+`
about: `+text+`
profile: mine-lt
phases:
  - id: cabin
    title: `+text+`
    items:
      - {id: doors, challenge: `+text+`, response: `+text+`, set: {doors: closed}}
`)
		write(dir+"/scenario.yaml", "name: mine\ntitle: "+text+"\nabout: "+text+"\nprocedure: mine\npolicy: prompted\nmap: names\nweather: {oat: 12, pressure_altitude: 50}\nseed: 1\npass: {right: 1}\n")
		own := strings.Replace(string(profile), "name: dunlin-lt\n", "name: mine-lt\n", 1)
		own = strings.Replace(own, "title: Dunlin LT\n", "title: "+text+"\n", 1)
		write(dir+"/profile.yaml", own)

		// As values, keys, tags, anchors, names of files; in the lexicon, the tones, answers, and as arguments.
		write(dir+"-bad/value.yaml", "name: "+text+"\ntitle: x\nabout: x\nprocedure: "+text+"\npolicy: "+text+"\npass: {right: "+text+"}\nweather: {oat: "+text+"}\n")
		write(dir+"-bad/key.yaml", text+": 1\nname: x\nprocedure: brief\n? "+text+"\n: "+text+"\n")
		write(dir+"-bad/tag.yaml", "name: !<"+h.text+"> x\nprocedure: !"+h.text+" brief\n")
		write(dir+"-bad/raw.yaml", "name: "+h.text+"\n"+h.text+": &"+h.text+" [\n*"+h.text+"\n")
		write(dir+"-bad/when.yaml", "name: c\ntitle: x\nabout: x\nprofile: dunlin-lt\nphases:\n  - id: a\n    title: b\n    items:\n      - {id: "+text+", challenge: x, response: y, check: "+text+"}\n      - {id: ok, challenge: x, response: y, set: {"+text+": "+text+"}}\n")
		odd := strings.NewReplacer("/", "_", "\x00", "_").Replace(h.text)
		file := write(dir+"-bad/"+odd+".yaml", "name: 1\n")
		folder := write(odd+fmt.Sprint(n)+"/lexicon.yaml", "words:\n  "+text+": "+text+"\n"+text+": x\n")
		tones := write(odd+fmt.Sprint(n)+"/tones.yaml", text+": "+text+"\n")
		criteria := write(dir+"-criteria.yaml", "passes_in_a_row: 1\nrecall: "+text+"\nparts: ["+text+"]\n"+text+": 1\n")
		list := write(dir+"-list.txt", h.text+"\n\n"+h.text+" ..... "+h.text+"\nBattery\t"+h.text+"\n"+h.text+", on\n")
		write(dir+"-course/course.yaml", "name: mine-"+fmt.Sprint(n)+"\ntitle: "+text+"\nby: "+text+"\nversion: "+text+"\nscenarios: ["+text+"]\n"+text+": 1\n")
		write(dir+"-course/"+odd+".yaml", "name: 1\n")
		write(dir+"-course.zip", zipOf(t, h.text+".yaml", text))
		answers := write(dir+"-answers.yaml", "start_from: "+text+"\nanswers:\n  - {item: "+text+", press: ["+text+"]}\n")
		for k, args := range [][]string{
			{"check", dir}, {"check", dir + "-bad"}, {"check", dir, "--json"}, {"check", dir + "-bad", "--json"}, {"check", file}, {"check", folder}, {"check", tones}, {"check", criteria}, {"check", filepath.Dir(folder)}, {"check", "--sheet", file},
			{"check", dir + "-bad/value.yaml", dir + "-bad/key.yaml"}, {"check", "missing-" + odd},
			{"list", "--with", dir}, {"list", "--reveal", "--with", dir + "-bad"}, {"list", "--with", dir, "--json"}, {"list", h.text}, {"list", "controls", "--with", dir},
			{"list", "failures", h.text, "--with", dir, "--json"}, {"list", "captions", "--profile", h.text}, {"list", "facts", "--profile", file}, {"list", "fields", h.text}, {"list", "fields", "profile", h.text, "--markdown"}, {"list", "schema", h.text}, {"list", "alerts", "--profile", h.text, "--html", "-"}, {"list", "schema", "procedure", "--profile", file}, {"list", "schema", "scenario", "--with", dir, "--profile", "mine-lt"}, {"list", "schema", "--out", h.text}, {"show", "mine", "--with", dir}, {"show", "mine", "--reveal", "--with", dir}, {"show", "mine-lt", "--with", dir},
			{"drill", "mine", "--with", dir, "--answers", "perfect", "--virtual", "--wav", odd + fmt.Sprint(n) + ".wav"},
			{"drill", "mine", "--with", dir, "--answers", "perfect", "--virtual", "--json"},
			{"drill", "mine", "--with", dir, "--answers", answers, "--virtual"},
			{"trace", "mine", "--with", dir, "--answers", "perfect", "--csv", "-", "--every", "1s"}, {"trace", "mine", "--with", dir, "--answers", "perfect", "--svg", "-"},
			{"voice", "words", h.text}, {"voice", "words", "--lexicon", folder, "TOT 1"}, {"voice", "render", "--engine", h.text, dir},
			{"drill", h.text}, {"show", h.text}, {"debrief", h.text}, {"replay", h.text}, {"forget", h.text, "--yes"}, {"progress", "--trainee", h.text}, {"ready", "--trainee", h.text}, {"ready", "--trainee", "kim", "--criteria", criteria}, {"ready", "--trainee", "kim", "--criteria", h.text}, {"ready", "--trainee", "kim", "--by", h.text},
			{"ready", "--trainee", "kim", "--procedure", h.text}, {"ready", "--trainee", "kim", "--profile", h.text}, {"ready", "--trainee", "kim", "--with", dir, "--profile", "mine-lt", "--reveal"}, {h.text}, {"--" + h.text},
			{"drill", "--policy", h.text}, {"drill", "--station", h.text}, {"station", h.text}, {"station", "--listen", h.text}, {"drill", "--layout", h.text}, {"drill", "--seed", h.text}, {"drill", "--answers", h.text, "--virtual"}, {"drill", "--trainee", h.text, "--virtual", "--answers", "perfect"},
			{"drill", "--with", h.text, "--answers", "perfect", "--virtual"}, {"export", "--as", h.text}, {"export", "--home", h.text}, {"export", "--trainee", h.text}, {"export", "--out", "no/" + h.text},
			{"export", "--out", odd + fmt.Sprint(n) + ".json"}, {"export", "--out", odd + fmt.Sprint(n) + ".json"}, {"import", odd + fmt.Sprint(n) + ".json"}, {"import", file},
			{"draft", "procedure", list, "--profile", "dunlin-lt"}, {"draft", "procedure", list, "--profile", "dunlin-lt", "--as", "markdown"}, {"draft", "procedure", list, "--profile", "dunlin-lt", "--as", "csv"},
			{"draft", "procedure", list, "--profile", "mine-lt", "--with", dir}, {"draft", "procedure", list, "--profile", h.text}, {"draft", "procedure", list, "--profile", "dunlin-lt", "--as", h.text},
			{"draft", "procedure", list, "--profile", "dunlin-lt", "--name", h.text}, {"draft", "procedure", h.text, "--profile", "dunlin-lt"}, {"draft", h.text},
			{"draft", "scenario", "--procedure", "mine", "--with", dir}, {"draft", "scenario", "--procedure", h.text}, {"draft", "scenario", "--procedure", "dunlin-start", "--policy", h.text, "--map", h.text, "--state", h.text, "--abnormal", h.text},
			{"draft", "profile", "--like", "mine-lt", "--with", dir, "--name", "yours"}, {"draft", "profile", "--like", "dunlin-lt", "--name", "yours", "--title", h.text}, {"draft", "profile", "--like", h.text, "--name", h.text},
			{"draft", "profile", "--based-on", "mine-lt", "--with", dir, "--name", "yours"}, {"draft", "profile", "--based-on", h.text, "--name", "yours"}, {"draft", "profile", "--based-on", "dunlin-lt", "--name", "yours", "--title", h.text}, {"drill", "mine", "--profile", h.text, "--with", dir, "--answers", "perfect", "--virtual"},
			{"draft", "abnormal", "--profile", "mine-lt", "--with", dir, "--failure", "gen1.failed"}, {"draft", "abnormal", "--profile", "dunlin-lt", "--failure", h.text}, {"draft", "abnormal", "--profile", h.text, "--name", h.text},
			{"course", "check", dir + "-course"}, {"course", "add", dir + "-course"}, {"course", "add", dir + "-course.zip"}, {"course", "pack", dir + "-course", "--out", "-"}, {"course", "check", file}, {"course", "check", h.text},
			{"course", "remove", h.text}, {"course", h.text}, {"course", "list"}, {"course", "list", "--json"},
			{"paper", "procedure", "mine", "--with", dir}, {"paper", "procedure", h.text}, {"paper", "procedure", "mine", "--with", dir, "--size", h.text}, {"paper", "keyboard", "mine-lt", "--with", dir}, {"paper", "keyboard", h.text},
			{"paper", "keyboard", "dunlin-lt", "--keyboard", h.text}, {"paper", "key", "mine", "--with", dir}, {"paper", "key", h.text}, {"paper", "key", "mine", "--seed", h.text}, {"paper", h.text},
			{"preview", "mine", "--with", dir, "--runs", "1"}, {"preview", "mine", "--with", dir, "--runs", "1", "--json"}, {"preview", "mine", "--with", dir, "--runs", "1", "--save", "-"}, {"preview", h.text}, {"preview", "mine", "--with", dir, "--trainee", h.text},
			{"preview", "mine", "--with", dir, "--find", "passed", "--runs", "1"}, {"preview", "mine", "--with", dir, "--find", h.text}, {"preview", "mine", "--with", dir, "--facts"}, {"preview", "mine", "--with", dir, "--like", h.text}, {"preview", "mine", "--with", dir, "--like", "kim", "--runs", "1"}, {"preview", "mine", "--with", dir, "--runs", "1", "--svg", "-"}, {"preview", "mine", "--with", dir, "--course", "2"}, {"preview", "mine", "--with", dir, "--course", "2", "--runs", "4", "--by", h.text, "--out", "-"}, {"preview", "hover-alerts", "--course", "2", "--runs", "4", "--by", h.text, "--name", h.text, "--out", filepath.Join(dir, "made.zip")},
			{"sound", "--level", h.text}, {"trace", h.text, "--csv", h.text}, {"__complete", "show", h.text}, {"help", h.text},
		} {
			// Each check has a document of its own, and what is exported is imported.
			if always := slices.Contains([]string{"check", "export", "import"}, args[0]); always || everyPair() || (k+n)%3 == 0 {
				run(args...)
			}
		}
		// What is printed of them is a page in which nothing runs.
		for _, args := range [][]string{{"paper", "procedure", "mine", "--with", dir}, {"paper", "keyboard", "mine-lt", "--with", dir}, {"paper", "key", "mine", "--with", dir}} {
			page, _ := run(args...)
			harmless(t, h.name, page)
		}
		// Documents with what acts in them are refused; with what only acts elsewhere they are taken.
		inside := strings.ContainsFunc(h.text, inert.Acts) || !utf8.ValidString(h.text)
		if _, status := run("check", dir); (status == exitPassed) == inside {
			t.Errorf("%s: the documents are checked with status %d", h.name, status)
		}
		if !inside {
			if _, status := run("drill", "mine", "--with", dir, "--answers", "perfect", "--silent", "--trainee", "lee"); status != exitPassed {
				t.Errorf("%s: the sitting has status %d", h.name, status)
			}
		}

		page, _ := run("list", "controls", "--with", dir, "--profile", "mine-lt", "--html", "-")
		harmless(t, h.name, page)

		// Kept, as if another program had written it, and exported.
		for _, plan := range []bool{false, true} {
			was := d.data
			d.data = at(fmt.Sprintf("kept-%d-%v", n, plan))
			if err := os.CopyFS(d.data, os.DirFS(was)); err != nil {
				t.Fatal(err)
			}
			spoil(t, filepath.Join(d.data, "hornlark.db"), h.text, plan)
			for _, args := range [][]string{
				{"debrief"}, {"debrief", "1", "--json"}, {"replay", "1"}, {"progress"}, {"progress", "--trainee", h.text}, {"progress", "--trainee", "nobody"},
				{"ready", "--trainee", h.text}, {"ready", "--trainee", h.text, "--json"}, {"ready", "--trainee", "nobody"},
				{"progress", "--class"}, {"progress", "--aliases"}, {"progress", "--trainee", h.text, "--trainee", "lee"},
				{"export"}, {"export", "--as", "csv"}, {"export", "--as", "xapi"}, {"export", "--as", "csv", "--aliases"}, {"export", "--as", "csv", "--trainee", h.text}, {"forget", "nobody", "--yes"},
			} {
				run(args...)
			}
			for _, args := range [][]string{{"debrief", "1", "--html", "-"}, {"progress", "--html", "-"}, {"preview", "mine", "--with", dir, "--runs", "1", "--html", "-"}} {
				page, _ := run(args...)
				harmless(t, h.name, page)
			}
			page, _ := run("debrief", "1", "--reel", "-")
			reelIsHarmless(t, h.name, page)
			for _, args := range [][]string{{"export", "--as", "csv"}, {"progress", "--csv", "-"}} {
				table, _ := run(args...)
				tableIsHarmless(t, h.name, table)
			}
			run("forget", h.text, "--yes")
			d.data = was
		}

		// Imported with such texts in the place of others.
		exported, _ := run("export", "--trainee", "kim")
		for _, was := range []string{`"kim"`, `"brief"`, `"complete"`, `"prompted"`, `"dunlin-lt"`, `"trainee":`, `"phase"`, `"log":`, `"qwerty"`, `"documents":`} {
			quoted, _ := json.Marshal(h.text)
			if strings.HasSuffix(was, ":") {
				quoted = append(quoted, ':')
			}
			run("import", write("in.json", strings.ReplaceAll(string(exported), was, string(quoted))))
			run("import", write("in.json", strings.Replace(string(exported), was, strings.ReplaceAll(`"`+h.text+`"`, `""`, `"`), 1)))
		}
	}
	if shown < ran/4 {
		t.Errorf("only %d outputs had anything to escape: the texts do not get where they should", shown)
	}
	t.Logf("%d commands, and %d outputs with escapes", ran, shown)
}

// zipOf is a package with one file, whatever that is called.
func zipOf(t *testing.T, name, body string) string {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	f, err := w.Create(name)
	if err == nil {
		_, err = f.Write([]byte(body))
	}
	if err = errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// spoil puts a text wherever records have one: names, logs, results, and the documents if wanted.
func spoil(t *testing.T, path, text string, plan bool) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	var triggers []string
	for rows.Next() {
		var name string
		rows.Scan(&name)
		triggers = append(triggers, name)
	}
	for _, name := range triggers {
		if _, err := db.Exec("DROP TRIGGER " + name); err != nil {
			t.Fatal(err)
		}
	}
	statements := []string{
		"UPDATE trainee SET name = ?1 WHERE id = (SELECT min(id) FROM trainee)",
		"UPDATE sitting SET scenario = ?1, version = ?1, layout = ?1, procedure = ?1, profile = ?1",
		"UPDATE event SET body = json_set(body, '$.text', ?1) WHERE json_extract(body, '$.text') IS NOT NULL",
		"UPDATE result SET body = json_set(body, '$.items[0].id', ?1, '$.items[0].phase', ?1, '$.items[0].typed', ?1, '$.inspections', json_array(?1))",
	}
	if plan {
		quoted, _ := json.Marshal(text)
		text = string(quoted)
		statements = []string{`UPDATE plan SET body = replace(replace(body, '"Doors"', ?1), '"A brief one"', ?1)`}
	}
	for _, statement := range statements {
		if _, err := db.Exec(statement, text); err != nil {
			t.Fatalf("%s: %v", statement, err)
		}
	}
}

// harmless looks at a page: no script, no handler, nothing from elsewhere, nothing that acts.
func harmless(t *testing.T, name string, page []byte) {
	t.Helper()
	document, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	for n := range document.Descendants() {
		if n.Type == html.ElementNode && (n.Data == "script") {
			t.Errorf("%s: the page has <%s>", name, n.Data)
		}
		for _, a := range n.Attr {
			if strings.HasPrefix(a.Key, "on") {
				t.Errorf("%s: the page has %s=%q", name, a.Key, a.Val)
			}
		}
		if r, i := acting([]byte(n.Data), ""); i >= 0 {
			t.Errorf("%s: the page has %U once it is read", name, r)
		}
	}
}

// reelIsHarmless looks at a page that moves: beside its own script, which its policy names by a hash, it has nothing but letters in which its data
// is pressed, and nothing in these acts either. A page that could not be written is none.
func reelIsHarmless(t *testing.T, name string, page []byte) {
	t.Helper()
	own, packed := regexp.MustCompile(`(?s)<script type="module">(.*?)</script>`), regexp.MustCompile(`<script type="text/plain" id="reel-(data|sound)">([A-Za-z0-9+/=]*)</script>`)
	scripts, data := own.FindAllSubmatch(page, -1), packed.FindAllSubmatch(page, -1)
	if len(page) == 0 {
		return
	}
	if len(scripts) != 1 || len(data) != 2 {
		t.Fatalf("%s: the page has %d scripts and %d pieces of data", name, len(scripts), len(data))
	}
	sum := sha256.Sum256(scripts[0][1])
	if hash := html.EscapeString("script-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "';"); !bytes.Contains(page, []byte(strings.ReplaceAll(hash, "+", "&#43;"))) {
		t.Errorf("%s: the policy of the page does not name its script", name)
	}
	harmless(t, name, packed.ReplaceAll(own.ReplaceAll(page, nil), nil))
	body, err := base64.StdEncoding.DecodeString(string(data[0][2]))
	if err != nil {
		t.Fatal(err)
	}
	z, err := gzip.NewReader(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	if r, i := acting(text, ""); i >= 0 {
		t.Errorf("%s: the data of the page has %U", name, r)
	}
	var said any
	if err := json.Unmarshal(text, &said); err != nil {
		t.Errorf("%s: %v", name, err)
	}
}

// formulas begin a formula in a spreadsheet (OWASP, "CSV Injection"), numbers apart.
var formulas = regexp.MustCompile(`^([=@\t\r\n]|[+-][^0-9]|[+-].*[^0-9.eE+-])`)

func tableIsHarmless(t *testing.T, name string, table []byte) {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	for _, row := range rows {
		for _, cell := range row {
			if formulas.MatchString(cell) {
				t.Errorf("%s: the cell %q is a formula", name, cell)
			}
		}
	}
}
