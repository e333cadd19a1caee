package library_test

import (
	"bytes"
	"encoding/json"
	"os"
	"regexp"
	"slices"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"gopkg.in/yaml.v3"

	"hornlark/drill/library"
	"hornlark/drill/library/schema"
)

// compiled is the schema of a kind, made ready by a validator that is not ours.
func compiled(t *testing.T, kind library.Kind, names *schema.Names) *jsonschema.Schema {
	t.Helper()
	s, err := schema.Of(kind, names)
	if err != nil {
		t.Fatal(err)
	}
	body, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("file:///"+schema.FileName(kind), doc); err != nil {
		t.Fatal(err)
	}
	ready, err := c.Compile("file:///" + schema.FileName(kind))
	if err != nil {
		t.Fatalf("%s: %v\n%s", kind, err, body)
	}
	return ready
}

// beyond tells by what the loader says why no schema could have refused a document.
var beyond = map[string]*regexp.Regexp{
	"references": regexp.MustCompile(`^there is no (abnormal|alert|alert, caption, gauge, outside fact or control|bus|caption|control|equipment|failure|failure point|gauge|gauge, caption or control|indication|item|phase|position|procedure|profile|run or state|state) "|is not a lever$|has no position "|^no oil pressure gauge has a green band|is for profile|^nothing is measured in a run|^item .* is not fitted|would go on from itself|cannot be done before it is asked`),
	"doubles":    regexp.MustCompile(`already is the id of|^something else is called|is called .* already$|already moves|^there is another|^two failure points are called|is named twice$`),
	"neighbours": regexp.MustCompile(`^nothing else is in group|^group .* is interrupted|does not come (right )?after|cannot be done before it is asked|^phase .* is not gone through here$`),
	"conditions": regexp.MustCompile(`^(column \d+: )?(there is nothing named|unexpected token|unclosed|invalid|.* (has more than two positions|is a number, neither true nor false|is true or false, and no number|is in a position, and no number|has no positions to compare|is not part of a condition|stands by itself)|a number is neither true nor false|the condition is \d+ bytes long|functions are not|something true or false stands|this is not part)`),
	"times":      regexp.MustCompile(`^[0-9hmsµ.]+ is out of range$|^the time .* is too long$|cannot wait for|cannot spring back after|cannot have to be passed for|a move cannot take|is no time to be told|nobody can be asked to notice in`),
	"figures":    regexp.MustCompile(`^the curve does not go on|no sensible notches|^the (band|bands|scale|tolerance|gauge cannot reach)|^the state takes|^the window closes|^cut off at|cannot pass|cannot show|^the runs can take|^the procedure has \d+ items$|cannot be surprises$`),
	"overlays":   regexp.MustCompile(`^nothing of .* is changed$|hangs? on nothing but what is left out$|is left out already$|^nothing is said of|^there are \d+ profiles under|laid over itself|to leave out$|neither laid over that nor made of it$|^as .* takes it over: `),
	"spelling":   regexp.MustCompile(`character in the text that cannot be shown|is not a (whole )?number$|is neither true nor false$|an alias|an anchor|a tag,`),
}

// judges are the schemas and the loader, and what came of asking both.
type judges struct {
	t     *testing.T
	lib   *library.Library
	ready map[library.Kind]*jsonschema.Schema

	tried, sound, both int
	narrow             map[string]*jsonschema.Schema // by kind and aircraft
	why                map[string]int                // how often the loader alone refused a document, by what is beyond a schema
}

func newJudges(t *testing.T) *judges {
	t.Helper()
	l, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	j := &judges{t: t, lib: l, ready: map[library.Kind]*jsonschema.Schema{}, why: map[string]int{}, narrow: map[string]*jsonschema.Schema{}}
	for _, kind := range library.Kinds() {
		j.ready[kind] = compiled(t, kind, nil)
	}
	return j
}

// ask has a document judged by both: what the schema refuses the loader refuses, and what the loader refuses the schema refuses too, unless
// every reason is beyond it.
func (j *judges) ask(kind library.Kind, root *yaml.Node, what string) {
	j.t.Helper()
	j.tried++
	refused := j.ready[kind].Validate(schema.Value(root))
	if refused != nil && library.Misread(kind, root) {
		j.both++
		return
	}
	problems := library.FaultsOf(j.lib, root)
	j.askNarrow(kind, root, problems, what)
	switch {
	case refused == nil && len(problems) == 0:
		j.sound++
	case len(problems) == 0:
		j.t.Errorf("%s: the loader takes it, and its schema says: %v", what, refused)
	case refused != nil:
		j.both++
	default:
		j.excuse(problems, what)
	}
}

// askNarrow has a document judged by the schema of its aircraft too, which refuses whatever the aircraft does not have.
func (j *judges) askNarrow(kind library.Kind, root *yaml.Node, problems library.Problems, what string) {
	j.t.Helper()
	fields := map[string]string{}
	for i := 0; i+1 < len(root.Content); i += 2 {
		fields[root.Content[i].Value] = root.Content[i+1].Value
	}
	name := fields["profile"]
	if proc, err := j.lib.Procedure(fields["procedure"]); kind == library.Scenario && err == nil {
		name = proc.Profile
	}
	p, err := j.lib.Profile(name)
	if err != nil || kind == library.Profile {
		return
	}
	key := string(kind) + " " + name
	if j.narrow[key] == nil {
		j.narrow[key] = compiled(j.t, kind, schema.NamesOf(j.lib, p))
	}
	refused := j.narrow[key].Validate(schema.Value(root))
	if refused != nil && len(problems) == 0 {
		j.t.Errorf("%s: the loader takes it, and the schema of %s says: %v", what, name, refused)
	}
	for _, p := range problems {
		if refused == nil && beyond["references"].MatchString(p.Problem) && !ofAnother.MatchString(p.Problem) {
			j.t.Errorf("%s: the schema of %s takes it, and the loader says: %s", what, name, p.Problem)
		}
	}
}

// ofAnother are references to what an aircraft has, but in another procedure.
var ofAnother = regexp.MustCompile(`^there is no (item|phase) "`)

// excuse looks whether the reasons of the loader are beyond a schema.
func (j *judges) excuse(problems library.Problems, what string) {
	j.t.Helper()
	for _, first := range []string{"spelling", "overlays"} { // from which anything can follow
		if slices.ContainsFunc(problems, func(p library.Problem) bool { return beyond[first].MatchString(p.Problem) }) {
			j.why[first]++
			return
		}
	}
	for _, p := range problems {
		found := ""
		for name, said := range beyond {
			if said.MatchString(p.Problem) {
				found = name
			}
		}
		if found == "" {
			j.t.Errorf("%s: its schema takes it, and the loader says: %s", what, p.Problem)
		}
		j.why[found]++
	}
}

// everything reports whether all is to be tried, and not a part.
func everything() bool { return os.Getenv("HORNLARK_EVERY") != "" }

// mutantsShare says which part of what is tried with HORNLARK_EVERY is tried without.
const mutantsShare = 17

// told looks whether enough was tried, and everything that is beyond a schema came up.
func (j *judges) told(least int, reasons ...string) {
	j.t.Helper()
	j.t.Logf("%d tried: %d sound, %d refused by both, and by the loader alone %v", j.tried, j.sound, j.both, j.why)
	if !everything() {
		least /= mutantsShare
	}
	if j.tried < least {
		j.t.Errorf("only %d were tried", j.tried)
	}
	for _, reason := range reasons {
		if everything() && j.why[reason] == 0 {
			j.t.Errorf("nothing was refused for %s", reason)
		}
	}
}
