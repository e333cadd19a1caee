package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var root = filepath.Join("..", "..")

// NOTICE is what is linked and embedded today, and says the same each time.
func TestNoticeIsUpToDate(t *testing.T) {
	want, err := makeNotice(root)
	if err != nil {
		t.Fatal(err)
	}
	have, err := os.ReadFile(filepath.Join(root, "NOTICE"))
	if err != nil {
		t.Fatal(err)
	}
	if have = bytes.ReplaceAll(have, []byte("\r\n"), []byte("\n")); !bytes.Equal(have, want) {
		t.Error("NOTICE is not what is linked and embedded; write it anew: go run ./scripts/notice > NOTICE")
	}
	if again, err := makeNotice(root); err != nil || !bytes.Equal(again, want) {
		t.Errorf("it is another the second time (%v)", err)
	}
}

// Every module that is linked on any platform has its terms in NOTICE, every one of them is known by name, and what asks for a
// choice or for credit has it.
func TestWhatNoticeSays(t *testing.T) {
	list, err := linked(root)
	if err != nil {
		t.Fatal(err)
	}
	notice, err := os.ReadFile(filepath.Join(root, "NOTICE"))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range list {
		if len(c.licence) == 0 || len(c.files) == 0 {
			t.Errorf("%s: licence %v, %d texts", c.name, c.licence, len(c.files))
		}
		if !bytes.Contains(notice, []byte(c.name+" ("+c.files[0].name+")")) {
			t.Errorf("the terms of %s are not there", c.name)
		}
		for _, l := range c.licence {
			if strings.HasPrefix(l, "GPL") {
				t.Errorf("%s would bring its terms over the whole program", c.name)
			}
		}
	}
	for name, want := range map[string]string{
		"github.com/ajstarks/svgo": "CC-BY-4.0", "github.com/golang/freetype": "FTL", "codeberg.org/go-fonts/liberation": "OFL-1.1",
		"modernc.org/sqlite": "public domain", "gopkg.in/yaml.v3": "Apache-2.0",
	} {
		i := slices.IndexFunc(list, func(c *component) bool { return c.name == name })
		if i < 0 || !slices.Contains(list[i].licence, want) {
			t.Errorf("%s is not known to be %s", name, want)
		}
	}
	for _, words := range []string{"by Anthony Starks", "The FreeType Project (www.freetype.org). All rights reserved.", "The ALSA library (libasound, LGPL-2.1) is no part of the program", "LiberationSans-Regular.ttf", "synthesiser flite"} {
		if !bytes.Contains(notice, []byte(words)) {
			t.Errorf("it does not say %q", words)
		}
	}
}

// The licence of the program is Apache-2.0, whole, and of the Hornlark authors.
func TestLicence(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(root, "LICENSE"))
	if err != nil {
		t.Fatal(err)
	}
	if got := recognised(string(text)); !slices.Contains(got, "Apache-2.0") {
		t.Errorf("it is %v", got)
	}
	for _, words := range []string{"Version 2.0, January 2004", "9. Accepting Warranty", "END OF TERMS AND CONDITIONS", "the Hornlark authors"} {
		if !bytes.Contains(text, []byte(words)) {
			t.Errorf("it does not say %q", words)
		}
	}
}

// Terms that nobody has looked at are not taken for known ones.
func TestUnknownTerms(t *testing.T) {
	for text, want := range map[string]string{
		"You may not use this.": "",
		"Permission is hereby granted, free of charge,\nto any person obtaining a copy\nof this software and": "MIT",
		"Redistribution and use in source and binary forms … are met: 1. … 2. …":                              "BSD-2-Clause",
		"Redistribution and use in source and binary forms … Neither the name of X":                           "BSD-3-Clause",
	} {
		if got := strings.Join(recognised(text), " "); got != want {
			t.Errorf("%q is %q", text, got)
		}
	}
}
