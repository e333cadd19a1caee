package schema

import (
	"encoding/json"
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"time"

	"gopkg.in/yaml.v3"
)

// exampleOf is a line of YAML as a value. A text stays one, whatever it looks like.
func exampleOf(line string, t reflect.Type) (any, error) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	var node yaml.Node
	if err := yaml.Unmarshal([]byte(line), &node); err != nil {
		return nil, err
	}
	if len(node.Content) != 1 {
		return nil, fmt.Errorf("%q is no value", line)
	}
	if t.Kind() == reflect.String || t == reflect.TypeFor[time.Duration]() {
		return node.Content[0].Value, nil
	}
	return Value(node.Content[0]), nil
}

// Value is a value of YAML as one of JSON, by the core schema of YAML 1.2 (10.3.2): what an editor hands to a validator.
func Value(n *yaml.Node) any {
	switch n.Kind {
	case yaml.MappingNode:
		all := map[string]any{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			all[n.Content[i].Value] = Value(n.Content[i+1])
		}
		return all
	case yaml.SequenceNode:
		list := make([]any, len(n.Content))
		for i, element := range n.Content {
			list[i] = Value(element)
		}
		return list
	}
	switch tag := n.ShortTag(); {
	case n.Style != 0:
		return n.Value
	case tag == "!!int" || tag == "!!float":
		return number(n.Value)
	case tag == "!!bool":
		return strings.ToLower(n.Value) == "true"
	case tag == "!!null":
		return nil
	}
	return n.Value
}

// number is a figure as JSON has it; one that JSON cannot have stays a text.
func number(text string) any {
	if figure := strings.TrimPrefix(text, "+"); decimal.MatchString(figure) {
		if strings.HasPrefix(strings.TrimPrefix(figure, "-"), ".") {
			figure = strings.Replace(figure, ".", "0.", 1)
		}
		figure = trailingPoint.ReplaceAllString(figure, "$1$2")
		return json.Number(leadingZeros.ReplaceAllString(figure, "$1$2"))
	}
	return text
}

var (
	decimal       = regexp.MustCompile(`^-?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][-+]?[0-9]+)?$`)
	trailingPoint = regexp.MustCompile(`^(-?[0-9]+)\.($|[eE])`)
	leadingZeros  = regexp.MustCompile(`^(-?)0+([0-9])`)
)
