package draft

import (
	"path/filepath"
	"strings"
	"testing"

	"hornlark/drill/library"
)

// A profile that is made of another one is that one in everything but its name, its title and what is said about it.
func TestProfilesToBeginWith(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, like := range lib.Profiles() {
		text, err := lib.ProfileText(like.Name)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Profile(text, like, Options{Name: "mine-lt"})
		if err != nil {
			t.Fatalf("%s: %v", like.Name, err)
		}
		_, was, _ := strings.Cut(text, "controls:\n")
		head, is, _ := strings.Cut(got, "controls:\n")
		if is != was || len(is) < 10_000 {
			t.Errorf("%s: %d bytes from the controls on, and %d in the copy", like.Name, len(was), len(is))
		}
		for _, want := range []string{"\nname: mine-lt\nlike: " + like.Name + "\ntitle: Mine lt\nabout: A fictional aircraft, made of the " + like.Title, "never existed"} {
			if !strings.Contains(head, want) {
				t.Errorf("%s: no %q in\n%s", like.Name, want, head)
			}
		}
	}
}

// A profile that is laid over another one passes the check, and so does each of the fields in its comments.
func TestOverlaysToBeginWith(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "profile.yaml")
	for i, under := range lib.Profiles() {
		document := Overlay(under, Options{Name: "mine"})
		passes(t, lib, path, document)
		if fields := len(optional.FindAllString(document, -1)); fields < 5 {
			t.Errorf("%s: only %d fields in comments", under.Name, fields)
		}
		if i == 0 || !testing.Short() {
			eachCounts(t, lib, path, document)
		}
	}
}

// A copy of a copy says of what it was made, once.
func TestACopyOfACopy(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	text, err := lib.ProfileText("whinchat-pt")
	if err != nil {
		t.Fatal(err)
	}
	like := *lib.Profiles()[2]
	for _, name := range []string{"one", "two", "three"} {
		if text, err = Profile(text, &like, Options{Name: name}); err != nil {
			t.Fatal(err)
		}
		if want := "\nname: " + name + "\nlike: " + like.Name + "\n"; !strings.Contains(text, want) || strings.Count(text, "\nlike: ") != 1 {
			t.Errorf("%d times, and %q is not in\n%s", strings.Count(text, "\nlike: "), want, text[:2000])
		}
		like.Name = name
	}
}

func TestProfileRefuses(t *testing.T) {
	lib, err := library.Builtin()
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"", "{name: a, title: b, about: c}\n", "name: a\ntitle: b\n", "x: |\n  y\nname: a\ntitle: b\nabout: \"c\n\n  d\"\n"} {
		if got, err := Profile(text, lib.Profiles()[0], Options{Name: "mine"}); err == nil {
			t.Errorf("%q is taken:\n%s", text, got)
		}
	}
}
