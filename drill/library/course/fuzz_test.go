package course

import (
	"bytes"
	"errors"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"

	"hornlark/drill/library"
)

// FuzzCourse: whatever arrives as a package, it is taken or what is wrong is said; what is taken stays in its folder and within its bounds, fits
// with what is built in or says why not, and is the same once it has been packed and unpacked again.
func FuzzCourse(f *testing.F) {
	lib := builtin(f)
	for _, items := range [][]item{
		sound(),
		sound(item{name: "a b/two.yml", body: "start_from: perfect\n"}, item{name: Lexicon, body: "words: {GPU: ground power}\n"}, item{name: Tones, body: "tones: {}\n"}),
		sound(item{name: "../x.yaml", body: one}, item{name: "ONE.yaml", body: one}, item{name: "aux.yaml"}),
		sound(item{name: "x.yaml", body: "/etc/passwd", mode: fs.ModeSymlink | 0o777}, item{name: "d/", mode: fs.ModeDir | 0o755}),
		{{name: library.ManifestFile, body: manifest, method: 12}},
		{},
	} {
		f.Add(packed(f, items...))
	}
	stored := new(bytes.Buffer)
	if err := unpacked(f, sound()...).Pack(stored); err != nil {
		f.Fatal(err)
	}
	f.Add(stored.Bytes())
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Unpack("x.zip", data, heard)
		if err != nil {
			var problems library.Problems
			if !errors.As(err, &problems) || len(problems) == 0 {
				t.Fatalf("it says %v", err)
			}
			for _, p := range problems {
				if p.Problem == "" || strings.ContainsAny(p.Error(), "\x1b\n") {
					t.Errorf("%q", p.Error())
				}
			}
			return
		}
		if c.Bytes() > MaxBytes || c.Files() > MaxEntries {
			t.Errorf("%d bytes in %d files", c.Bytes(), c.Files())
		}
		for _, file := range c.files {
			if !filepath.IsLocal(file.name) || strings.Contains(file.name, `\`) || kindOf(file.name) == "" {
				t.Errorf("%q is in it", file.name)
			}
		}
		if err := c.Check(lib); err != nil {
			var problems library.Problems
			if !errors.As(err, &problems) {
				t.Errorf("it says %v", err)
			}
		}
		var b bytes.Buffer
		if err := c.Pack(&b); err != nil {
			t.Fatal(err)
		}
		again, err := Unpack("y.zip", b.Bytes(), heard)
		if err != nil || again.Edition() != c.Edition() {
			t.Errorf("packed again it is %v", err)
		}
	})
}

// FuzzCourseEntry: whatever a file in a package is called, whatever it is said to be and whatever it holds, the same.
func FuzzCourseEntry(f *testing.F) {
	for _, name := range []string{"one.yaml", "a/b.yml", "../x.yaml", "/x.yaml", `a\b.yaml`, "aux.yaml", "ONE.yaml", "voice/0123456789abcdef01234567.pcm.gz", "lexicon.yaml", "d/", "course.yaml"} {
		f.Add(name, uint32(0o644), []byte(one), []byte(manifest))
	}
	f.Add("x.yaml", uint32(fs.ModeSymlink|0o777), []byte("/etc"), []byte("name: a\ntitle: b\nby: c\nversion: d\nscenarios: [e]\n"))
	f.Fuzz(func(t *testing.T, name string, mode uint32, body, manifest []byte) {
		if len(name) > 1000 || len(body)+len(manifest) > 1<<16 {
			return
		}
		data := packed(t, item{name: library.ManifestFile, body: string(manifest)}, item{name: name, body: string(body), mode: fs.FileMode(mode)})
		c, err := Unpack("x.zip", data, heard)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\x1b\r") {
				t.Errorf("%q", err.Error())
			}
			return
		}
		for _, file := range c.files {
			if !filepath.IsLocal(file.name) || strings.ContainsAny(file.name, `\:`) || kindOf(file.name) == "" || reserved.MatchString(file.name) {
				t.Errorf("%q is in it", file.name)
			}
		}
	})
}
