// Command notice writes NOTICE: what is linked into the program and embedded in it, on every platform that it is built for, and under
// what terms. The texts come out of the module cache, so that it needs no network; what a module cannot say of itself stands here.
//
//	go run ./scripts/notice > NOTICE
package main

import (
	"bufio"
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// platforms are those that scripts/test builds for.
var platforms = []struct{ os, arch string }{
	{"linux", "amd64"}, {"linux", "arm64"}, {"windows", "amd64"}, {"darwin", "arm64"},
}

// texts are the terms of what is no Go module.
//
//go:embed texts
var texts embed.FS

func main() {
	notice, err := makeNotice(".")
	if err != nil {
		fmt.Fprintln(os.Stderr, "notice:", err)
		os.Exit(1)
	}
	os.Stdout.Write(notice)
}

// component is something in the program that others have made.
type component struct {
	name, version string
	systems       []string // those of platforms that it is linked on
	licence       []string // by their short names
	files         []file   // the texts, in order
	embeds        []string // files of it that are in the program as they are
}

type file struct{ name, text string }

// makeNotice makes the whole text for the project in the folder root.
func makeNotice(root string) ([]byte, error) {
	list, err := linked(root)
	if err != nil {
		return nil, err
	}
	engines, err := enginesOf(filepath.Join(root, "sounds", "manifest.json"))
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString(head)
	b.WriteString("LINKED\n------\n\n")
	for _, c := range list {
		on := ""
		if len(c.systems) < len(systems()) {
			on = ", on " + strings.Join(c.systems, " and ")
		}
		fmt.Fprintf(&b, "%s%s\n    %s\n", strings.TrimSpace(c.name+" "+c.version), on, strings.Join(c.licence, "; "))
		if note := notes[c.name]; note != "" {
			fmt.Fprintf(&b, "    %s\n", strings.ReplaceAll(note, "\n", "\n    "))
		}
	}
	b.WriteString(alsa)
	b.WriteString("\nEMBEDDED\n--------\n\n")
	for _, c := range list {
		if len(c.embeds) > 0 {
			fmt.Fprintf(&b, "Out of %s:\n    %s\n\n", c.name, strings.Join(c.embeds, "\n    "))
		}
	}
	fmt.Fprintf(&b, clips, strings.Join(engines, " and "))
	b.WriteString("\nTERMS\n")
	terms(&b, list, engines)
	return b.Bytes(), nil
}

const head = `Hornlark
Copyright 2026 the Hornlark authors

Licensed under the Apache License, Version 2.0; its text is in the file LICENSE.

This program contains what others have made. Here is what that is, and under what terms it may be handed on. The file is written by
scripts/notice; a test holds it to what is really linked and embedded.

`

// notes are what has to be said of a module beside its terms: a choice where it offers one, and credit where it asks for it.
var notes = map[string]string{
	"github.com/golang/freetype": "Offered under the FreeType License or the GNU GPL; used here under the FreeType License.\n" +
		"Portions of this software are copyright © 2010 The FreeType Project (www.freetype.org). All rights reserved.",
	"github.com/ajstarks/svgo":         "svgo, by Anthony Starks, https://github.com/ajstarks/svgo: linked as it is, without changes.",
	"codeberg.org/go-fonts/liberation": "The fonts are under the SIL Open Font License; the Go code around them is under the BSD licence.",
	"modernc.org/sqlite":               "Holds SQLite, which is in the public domain, translated into Go.",
}

const alsa = `The ALSA library (libasound, LGPL-2.1) is no part of the program: on linux the machine's own is loaded while the program runs, and
whatever takes its place is used as well.
`

const clips = `Spoken clips (sounds/clips): the voices of the challenger, the responder and the crew, made from our own words with the speech
synthesiser %s and the voices that come with it, which its authors give away for any use; then processed and levelled by the program's
own code, and coded with lame, of which nothing is in the program. No clip is a recording of a person. The clips are under the licence
of the program.

Tones, documents, pages: our own, under the licence of the program.
`

// chosen is the licence texts that a module offers to choose from, and which of them is chosen.
var chosen = map[string][]string{"github.com/golang/freetype": {"LICENSE", "licenses/ftl.txt"}}

// noTerms are files beside the licences that are none.
var noTerms = []string{"LICENSE-LOGO", "LICENSE-link.txt"}

// packageInfo is what "go list" says of a package.
type packageInfo struct {
	Dir        string
	ImportPath string
	Standard   bool
	EmbedFiles []string
	Module     *struct {
		Path, Version, Dir string
		Main               bool
	}
}

func systems() []string {
	var list []string
	for _, p := range platforms {
		if !slices.Contains(list, p.os) {
			list = append(list, p.os)
		}
	}
	return list
}

// linked finds every module of which anything is linked, and its terms; the first is Go itself.
func linked(root string) ([]*component, error) {
	found := map[string]*component{}
	folders := map[string]map[string]bool{} // of each: where anything of it was taken from
	roots := map[string]string{}
	for _, p := range platforms {
		packages, err := packagesOn(root, p.os, p.arch)
		if err != nil {
			return nil, err
		}
		for _, pkg := range packages {
			if pkg.Standard || pkg.Module == nil || pkg.Module.Main {
				continue
			}
			m := pkg.Module
			c := found[m.Path]
			if c == nil {
				c = &component{name: m.Path, version: m.Version}
				found[m.Path], folders[m.Path], roots[m.Path] = c, map[string]bool{}, m.Dir
			}
			if !slices.Contains(c.systems, p.os) {
				c.systems = append(c.systems, p.os)
			}
			for dir := pkg.Dir; len(dir) >= len(m.Dir); dir = filepath.Dir(dir) {
				folders[m.Path][dir] = true
			}
			for _, name := range pkg.EmbedFiles {
				if name := path.Base(name); !slices.Contains(c.embeds, name) {
					c.embeds = append(c.embeds, name)
				}
			}
		}
	}
	var list []*component
	for _, name := range slices.Sorted(maps.Keys(found)) {
		c := found[name]
		slices.Sort(c.embeds)
		if err := c.read(roots[name], slices.Sorted(maps.Keys(folders[name]))); err != nil {
			return nil, err
		}
		list = append(list, c)
	}
	first, err := goItself(list)
	if err != nil {
		return nil, err
	}
	list = append([]*component{first}, list...)
	for _, c := range list {
		for _, f := range c.files {
			short := recognised(f.text)
			if len(short) == 0 && !collections[path.Base(f.name)] && chosen[c.name] == nil {
				return nil, fmt.Errorf("%s, %s: nobody has looked yet at these terms; read them, and add their words to marks", c.name, f.name)
			}
			for _, s := range short {
				if !slices.Contains(c.licence, s) {
					c.licence = append(c.licence, s)
				}
			}
		}
	}
	return list, nil
}

// goItself is the runtime and the standard library, whose version is that of whoever builds the program. Its terms are those of
// golang.org/x/sys, word for word, which is where every machine has them.
func goItself(list []*component) (*component, error) {
	for _, c := range list {
		if c.name == "golang.org/x/sys" {
			return &component{name: "Go, its runtime and standard library", systems: systems(), files: c.files}, nil
		}
	}
	return nil, errors.New("golang.org/x/sys is not linked: take the terms of Go from somewhere else")
}

func packagesOn(root, system, arch string) ([]packageInfo, error) {
	list := exec.Command("go", "list", "-deps", "-json=Dir,ImportPath,Standard,EmbedFiles,Module", "./cmd/hornlark")
	list.Dir = root
	list.Env = append(os.Environ(), "GOOS="+system, "GOARCH="+arch, "CGO_ENABLED=0")
	var errs bytes.Buffer
	list.Stderr = &errs
	out, err := list.Output()
	if err != nil {
		return nil, fmt.Errorf("go list for %s/%s: %w\n%s", system, arch, err, errs.String())
	}
	var packages []packageInfo
	for dec := json.NewDecoder(bytes.NewReader(out)); dec.More(); {
		var p packageInfo
		if err := dec.Decode(&p); err != nil {
			return nil, err
		}
		packages = append(packages, p)
	}
	return packages, nil
}

var licenceName = regexp.MustCompile(`(?i)^((un)?licen[cs]e|copying|notice)([-_.].*)?$`)

// read reads the terms of a module: those at its top, and those in the folders that anything is taken from.
func (c *component) read(root string, folders []string) error {
	names := chosen[c.name]
	if names == nil {
		for _, dir := range folders {
			entries, err := os.ReadDir(dir)
			if err != nil {
				return err
			}
			for _, e := range entries {
				if e.IsDir() || !licenceName.MatchString(e.Name()) || slices.Contains(noTerms, e.Name()) {
					continue
				}
				rel, err := filepath.Rel(root, filepath.Join(dir, e.Name()))
				if err != nil {
					return err
				}
				names = append(names, filepath.ToSlash(rel))
			}
		}
	}
	for _, name := range names {
		text, err := os.ReadFile(filepath.Join(root, filepath.FromSlash(name)))
		if err != nil {
			return err
		}
		c.files = append(c.files, file{name, string(text)})
	}
	if len(c.files) == 0 {
		return fmt.Errorf("%s has no licence", c.name)
	}
	return nil
}

// collections are files that say what is of whom in a module.
var collections = map[string]bool{"LICENSE-3RD-PARTY.md": true}

// marks is how licences are told by their words, and their short names (SPDX).
var marks = []struct{ words, short string }{
	{"creative commons attribution 4.0", "CC-BY-4.0"},
	{"sil open font license version 1.1", "OFL-1.1"},
	{"the freetype project license", "FTL"},
	{"apache license", "Apache-2.0"},
	{"to any person obtaining a copy of this software", "MIT"},
	{"neither the name", "BSD-3-Clause"},
	{"redistribution and use in source and binary forms", "BSD-2-Clause"},
	{"permission to use, copy, modify, and distribute this software for any purpose with or without fee", "ISC"},
	{"is free and unencumbered software released into the public domain", "Unlicense"},
	{"is public domain", "public domain"},
}

// recognised gives the short names of the licences in a text of terms.
func recognised(text string) []string {
	flat := strings.ToLower(strings.Join(strings.Fields(text), " "))
	var short []string
	for _, m := range marks {
		if m.short == "BSD-2-Clause" && slices.Contains(short, "BSD-3-Clause") {
			continue // it is a part of that
		}
		if strings.Contains(flat, m.words) {
			short = append(short, m.short)
		}
	}
	return short
}

// enginesOf is the speech synthesisers that the clips were made with.
func enginesOf(manifest string) ([]string, error) {
	f, err := os.Open(manifest)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	var engines []string
	for lines := bufio.NewScanner(f); lines.Scan(); {
		var clip struct{ Engine string }
		line := bytes.Trim(bytes.TrimSpace(lines.Bytes()), ",[]")
		if len(line) == 0 {
			continue
		}
		if err := json.Unmarshal(line, &clip); err != nil {
			return nil, fmt.Errorf("%s: %w", manifest, err)
		}
		name, _, _ := strings.Cut(clip.Engine, "/")
		if !slices.Contains(engines, name) {
			engines = append(engines, name)
		}
	}
	slices.Sort(engines)
	for _, name := range engines {
		if _, err := texts.ReadFile("texts/" + name + ".txt"); err != nil {
			return nil, fmt.Errorf("the clips are made with %s, and its terms are not in scripts/notice/texts", name)
		}
	}
	return engines, nil
}

// terms writes every text once, under the names of all that it is for.
func terms(b *bytes.Buffer, list []*component, engines []string) {
	var order []string
	owners := map[string][]string{}
	note := func(text, owner string) {
		text = strings.TrimSpace(strings.ReplaceAll(strings.TrimPrefix(text, "\ufeff"), "\r\n", "\n"))
		if text == "" {
			return
		}
		if owners[text] == nil {
			order = append(order, text)
		}
		owners[text] = append(owners[text], owner)
	}
	for _, c := range list {
		for _, f := range c.files {
			note(f.text, c.name+" ("+f.name+")")
		}
	}
	for _, name := range engines {
		text, err := texts.ReadFile("texts/" + name + ".txt")
		if err == nil {
			note(string(text), name+", whose speech is in the clips")
		}
	}
	rule := strings.Repeat("-", 100)
	for _, text := range order {
		fmt.Fprintf(b, "\n%s\n%s\n%s\n\n", rule, strings.Join(owners[text], "\n"), rule)
		for _, line := range strings.Split(text, "\n") {
			b.WriteString(strings.TrimRight(line, " \t\r\f") + "\n")
		}
	}
}
