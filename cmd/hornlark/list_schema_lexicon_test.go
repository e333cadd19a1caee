package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"gopkg.in/yaml.v3"

	"hornlark/audio/voice"
	"hornlark/drill/library/schema"
	"hornlark/sounds"
)

// beyondLexicon is what a lexicon is refused for that no schema can say.
var beyondLexicon = []string{"is there already", "a name is wanted here"}

// lexicons are the one that is built in, those in the test data, and one for each value of each field that could be written there.
func lexicons(t *testing.T) (texts []string) {
	t.Helper()
	built, err := fs.ReadFile(sounds.Files, sounds.Lexicon)
	if err != nil {
		t.Fatal(err)
	}
	texts = append(texts, string(built), "", "null", "[]", "words", "5", "wrods: {NR: N R}", "words: {NR: a, NR: b}", "words: &w {NR: a}\nphrases: *w", "words: {<<: {NR: a}}")
	values := []string{"", "null", "~", "word", `""`, "5", "-1.5", "true", "no", "2026-11-27", "{}", "[]", "[[]]", "[{}]", "{a: {}}", "{a: []}", "{a: null}", "{a: b}", "{a: 5}", "{5: a}", "{true: x}", "{null: y}", "{a: [b]}", "{a: [b, c]}", "{a: [b, 5]}", "{a: [b, null]}", "{a: [b, [c]]}", "{a: [b, c, d]}", "{a: {b: c}}", ".inf", "0x1F", "'5'", "|\n  two\n  lines"}
	for _, n := range []int{1, 2, 9, 10, 11} {
		values = append(values, "["+strings.Repeat("w, ", n)+"]", "["+strings.Repeat("null, ", n)+"]")
	}
	var long strings.Builder
	for i := range 5001 {
		fmt.Fprintf(&long, "w%d: [a, b], ", i)
	}
	values = append(values, "{"+long.String()+"}", "["+strings.Repeat("w, ", 10_000)+"]", "["+strings.Repeat("w, ", 10_001)+"]")
	for _, f := range append(voice.LexiconForm(), voice.LexiconField{Name: "unit"}) {
		for _, value := range values {
			texts = append(texts, f.Name+": "+value+"\n")
		}
	}
	return texts
}

// The schema of a lexicon takes what its reader takes, and refuses what that refuses, but for what no schema can say; another validator says
// the same of it.
func TestLexiconAndItsSchemaAgree(t *testing.T) {
	body, err := json.Marshal(schemaOfLexicon())
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("file:///lexicon.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	ready, err := c.Compile("file:///lexicon.schema.json")
	if err != nil {
		t.Fatalf("%v\n%s", err, body)
	}
	type judged struct {
		Kind  string `json:"kind"`
		Value any    `json:"value"`
		takes bool
	}
	var documents []judged
	taken, refused, beyond := 0, 0, 0
	for _, text := range lexicons(t) {
		var root yaml.Node
		if err := yaml.Unmarshal([]byte(text), &root); err != nil {
			t.Fatalf("%v: %.80s", err, text)
		}
		read := voice.CheckLexicon([]byte(text), "lexicon.yaml")
		if root.IsZero() {
			if read != nil {
				t.Errorf("an empty file is refused: %v", read)
			}
			continue
		}
		value := schema.Value(root.Content[0])
		judges := ready.Validate(value)
		documents = append(documents, judged{lexiconSchema, value, judges == nil})
		switch {
		case read == nil && judges == nil:
			taken++
		case read != nil && judges != nil:
			refused++
		case read == nil:
			t.Errorf("the reader takes it, and the schema does not (%v): %.80q", judges, text)
		default:
			says := false
			for _, reason := range beyondLexicon {
				says = says || strings.Contains(read.Error(), reason)
			}
			if beyond++; !says {
				t.Errorf("the schema takes it, and the reader does not (%v): %.80q", read, text)
			}
		}
	}
	t.Logf("%d are taken by both, %d refused by both, %d by the reader alone", taken, refused, beyond)
	if taken < 75 || refused < 300 || beyond > 5 {
		t.Errorf("%d are taken, %d refused, %d beyond a schema", taken, refused, beyond)
	}

	modules := os.Getenv("HORNLARK_NODE_MODULES")
	node, err := exec.LookPath("node")
	if err != nil || modules == "" {
		t.Skip("there is no node, or no modules for it: scripts/install brings them")
	}
	asked, err := json.Marshal(map[string]any{"schemas": map[string]any{lexiconSchema: schemaOfLexicon()}, "documents": documents})
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), node, filepath.Join("..", "..", "drill", "library", "testdata", "judge.cjs"))
	cmd.Env = append(os.Environ(), "NODE_PATH="+modules)
	cmd.Stdin = bytes.NewReader(asked)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var verdicts []bool
	if err := json.Unmarshal(out, &verdicts); err != nil || len(verdicts) != len(documents) {
		t.Fatalf("%v, %d verdicts on %d documents", err, len(verdicts), len(documents))
	}
	for i, d := range documents {
		if verdicts[i] != d.takes {
			t.Errorf("taken %v by one validator, and %v by the other: %.80v", d.takes, verdicts[i], d.Value)
		}
	}
}
