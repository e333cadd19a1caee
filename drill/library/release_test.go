package library

import "testing"

// TestReleasedIsReadAnew: what was taken from the library before it was let go is as it was, and the next one has the same documents.
func TestReleasedIsReadAnew(t *testing.T) {
	lib, err := Builtin()
	if err != nil {
		t.Fatal(err)
	}
	bundle, err := lib.Resolve("first-start")
	if err != nil {
		t.Fatal(err)
	}
	before := bundle.Pack()
	if again, err := Builtin(); again != lib || err != nil {
		t.Errorf("it is read twice: %v", err)
	}
	Release()
	again, err := Builtin()
	if err != nil || again == lib {
		t.Fatalf("it was not let go: %v", err)
	}
	fresh, err := again.Resolve("first-start")
	if err != nil {
		t.Fatal(err)
	}
	if string(before) != string(bundle.Pack()) || string(before) != string(fresh.Pack()) {
		t.Error("the documents are not the same")
	}
}
