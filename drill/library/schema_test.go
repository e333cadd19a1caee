package library_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

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

func TestSchemasTakeWhatIsSound(t *testing.T) {
	l, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	ready := map[library.Kind]*jsonschema.Schema{}
	for _, kind := range library.Kinds() {
		ready[kind] = compiled(t, kind, nil)
	}
	_ = l
	for name, text := range library.Samples(t) {
		kind, root, ok := library.Parsed([]byte(text))
		if !ok {
			t.Fatal(name)
		}
		if err := ready[kind].Validate(schema.Value(root)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}
