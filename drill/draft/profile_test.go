package draft

import (
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
		for _, want := range []string{"\nname: mine-lt\ntitle: Mine lt\nabout: A fictional aircraft, made of the " + like.Title, "never existed"} {
			if !strings.Contains(head, want) {
				t.Errorf("%s: no %q in\n%s", like.Name, want, head)
			}
		}
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
