package library_test

import (
	"bytes"
	"cmp"
	"encoding/json"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"hornlark/drill/library"
	"hornlark/drill/library/schema"
)

// The reasons that are beyond a schema are those that are told of, and the tests know each.
func TestReasonsBeyondASchema(t *testing.T) {
	var told []string
	for _, reason := range schema.Beyond() {
		if told = append(told, reason.Name); !strings.HasSuffix(reason.About, ".") {
			t.Errorf("%s has no sentence", reason.Name)
		}
	}
	slices.Sort(told)
	if known := slices.Sorted(maps.Keys(beyond)); !slices.Equal(slices.DeleteFunc(told, func(name string) bool { return name == "model" }), known) {
		t.Errorf("told are %v, and known %v", told, known)
	}
}

// With the names of an aircraft, what is written for it is taken, its own profile too, and what is written for another one is not.
func TestSchemasOfAnAircraft(t *testing.T) {
	l, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	texts := library.Samples(t)
	for _, p := range l.Profiles() {
		own, err := l.ProfileText(p.Name)
		if err != nil {
			t.Fatal(err)
		}
		names := schema.NamesOf(l, p)
		_, root, _ := library.Parsed([]byte(own))
		if err := compiled(t, library.Profile, names).Validate(schema.Value(root)); err != nil {
			t.Errorf("%s: %v", p.Name, err)
		}
		for name, kind := range map[string]library.Kind{"tried-answers.yaml": library.Answers, "tried-procedure.yaml": library.Procedure, "tried-abnormal.yaml": library.Abnormal} {
			_, root, _ := library.Parsed([]byte(texts[name]))
			if err := compiled(t, kind, names).Validate(schema.Value(root)); (err == nil) != (p.Name == "dunlin-lt") {
				t.Errorf("%s, which is for the dunlin-lt, by the schema of %s: %v", name, p.Name, err)
			}
		}
	}
}

// fileInArchive begins a file in an archive of tests.
var fileInArchive = regexp.MustCompile(`(?m)^-- (\S+) --\n`)

// documentsOfTests are the documents that stand in test data anywhere: by themselves, in archives, and among what fuzzing found.
func documentsOfTests(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	top := filepath.Join("..", "..")
	err := filepath.WalkDir(top, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() && (e.Name() == "dist" || strings.HasPrefix(e.Name(), ".") && path != top) {
			return cmp.Or(err, fs.SkipDir)
		}
		if e.IsDir() || !strings.Contains(filepath.ToSlash(path), "/testdata/") {
			return nil
		}
		fuzzed := strings.Contains(path, "FuzzDocument")
		if ext := filepath.Ext(path); ext != ".yaml" && ext != ".txtar" && !fuzzed {
			return nil
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		switch {
		case filepath.Ext(path) == ".yaml":
			all[path] = string(text)
		case fuzzed:
			for line := range strings.Lines(string(text)) {
				if quoted, ok := strings.CutPrefix(strings.TrimSpace(line), "[]byte("); ok {
					input, err := strconv.Unquote(strings.TrimSuffix(quoted, ")"))
					if err != nil {
						return err
					}
					all[path] = input
				}
			}
		default:
			begins := fileInArchive.FindAllStringSubmatchIndex(string(text), -1)
			for i, at := range begins {
				name, end := string(text[at[2]:at[3]]), len(text)
				if i+1 < len(begins) {
					end = begins[i+1][0]
				}
				if filepath.Ext(name) == ".yaml" {
					all[path+" "+name] = string(text[at[1]:end])
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// Every document that is built in and every one in the test data of any package, sound or not, is judged alike.
func TestSchemaAndLoaderAgreeOnDocuments(t *testing.T) {
	j := newJudges(t)
	all := documentsOfTests(t)
	maps.Copy(all, library.Samples(t))
	for _, name := range slices.Sorted(maps.Keys(all)) {
		if kind, root, ok := library.Parsed([]byte(all[name])); ok {
			j.ask(kind, root, name)
		}
	}
	t.Logf("%d documents: %d sound, %d refused by both, and by the loader alone %v", j.tried, j.sound, j.both, j.why)
	if j.tried < 250 || j.sound < 200 {
		t.Errorf("only %d documents were found, %d of them sound", j.tried, j.sound)
	}
}

// judged is a document for the validator of others: as YAML, or as a value.
type judged struct {
	Kind  library.Kind `json:"kind"`
	YAML  string       `json:"yaml,omitempty"`
	Value any          `json:"value,omitempty"`
	name  string
	takes bool
}

// Validators of others say the same of the schemas: ajv, which reads YAML by a package of its own, for every built-in document and some of
// those that are written wrongly.
func TestSchemasByAnotherValidator(t *testing.T) {
	modules := os.Getenv("HORNLARK_NODE_MODULES")
	node, err := exec.LookPath("node")
	if err != nil || modules == "" {
		t.Skip("there is no node, or no modules for it: scripts/install brings them")
	}
	if _, err := os.Stat(filepath.Join(modules, "ajv")); err != nil {
		t.Skip("there is no ajv: take dist/validators away, and scripts/install brings it")
	}
	j := newJudges(t)
	asked := struct {
		Schemas   map[library.Kind]*schema.Schema `json:"schemas"`
		Documents []judged                        `json:"documents"`
	}{Schemas: map[library.Kind]*schema.Schema{}}
	for _, kind := range library.Kinds() {
		if asked.Schemas[kind], err = schema.Of(kind, nil); err != nil {
			t.Fatal(err)
		}
	}
	texts := library.Samples(t)
	for _, name := range slices.Sorted(maps.Keys(texts)) {
		kind, _, _ := library.Parsed([]byte(texts[name]))
		asked.Documents = append(asked.Documents, judged{Kind: kind, YAML: texts[name], name: name, takes: true})
	}
	n := 0
	library.EveryInstance(t, j.lib, func(i library.Instance) {
		content := i.In.Content
		for _, m := range mutantsOf(&i) {
			if n++; n%(3*mutantsShare) != 0 || m.value == nil {
				continue
			}
			i.In.Content = slices.Clone(content)
			i.In.Content[i.At+1] = m.value
			value := schema.Value(i.Root)
			asked.Documents = append(asked.Documents, judged{i.Kind, "", value, i.Path + ": " + m.what, j.ready[i.Kind].Validate(value) == nil})
			i.In.Content = content
		}
	})
	body, err := json.Marshal(asked)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), node, filepath.Join("testdata", "judge.cjs"))
	cmd.Env = append(os.Environ(), "NODE_PATH="+modules)
	cmd.Stdin = bytes.NewReader(body)
	var said bytes.Buffer
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, said.String())
	}
	var verdicts []bool
	if err := json.Unmarshal(out, &verdicts); err != nil || len(verdicts) != len(asked.Documents) {
		t.Fatalf("%v, %d verdicts on %d documents", err, len(verdicts), len(asked.Documents))
	}
	refused := 0
	for i, d := range asked.Documents {
		if verdicts[i] != d.takes {
			t.Errorf("%s: taken %v by one validator, and %v by the other", d.name, d.takes, verdicts[i])
		}
		if !d.takes {
			refused++
		}
	}
	t.Logf("%d documents, %d of them refused", len(verdicts), refused)
	if refused < 50 || len(verdicts)-refused < 150 {
		t.Errorf("%d of %d documents are refused", refused, len(verdicts))
	}
}
