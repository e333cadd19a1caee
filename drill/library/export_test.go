package library

import (
	"testing"

	"gopkg.in/yaml.v3"
)

// Samples are the documents in which fields are tried, by their names, each sound.
func Samples(t *testing.T) map[string]string { return samples(t) }

// Parsed is a document as the loader has it before it is taken in: its kind and what stands in it.
func Parsed(text []byte) (Kind, *yaml.Node, bool) {
	d, problems := parse("tried.yaml", text)
	if len(problems) > 0 {
		return "", nil, false
	}
	kind, problem := d.kind()
	return kind, d.root, problem == nil
}

// FaultsIn are the problems of a document among those of a library, without flying it.
func FaultsIn(l *Library, text []byte) Problems { return faultsIn(l, text) }
