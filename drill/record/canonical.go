package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"
	"unicode/utf8"
)

// canonical is a JSON value in the one form that all texts of the same value share: members in the order of their names, no
// blanks, one way to escape, and each number in its shortest form. It is in the manner of RFC 8785, which takes all numbers
// for floating point; here whole ones keep all their digits. A name that stands twice in an object is an error, since readers
// differ in which of the two they take.
func canonical(body []byte) ([]byte, error) {
	in := json.NewDecoder(bytes.NewReader(body))
	in.UseNumber()
	v, err := unique(in)
	if err != nil {
		return nil, err
	}
	if in.More() {
		return nil, fmt.Errorf("something follows its end")
	}
	return toJSON(v), nil
}

// unique reads a value whose objects have each name once.
func unique(in *json.Decoder) (any, error) {
	token, err := in.Token()
	if err != nil {
		return nil, err
	}
	switch token := token.(type) {
	case json.Number:
		return number(token)
	case json.Delim:
		if token == '[' {
			list := []any{}
			for in.More() {
				v, err := unique(in)
				if err != nil {
					return nil, err
				}
				list = append(list, v)
			}
			_, err := in.Token()
			return list, err
		}
		members := map[string]any{}
		for in.More() {
			name, err := in.Token()
			if err != nil {
				return nil, err
			}
			key, ok := name.(string)
			if !ok {
				return nil, fmt.Errorf("%v is no name of a member", name)
			}
			if _, twice := members[key]; twice {
				return nil, fmt.Errorf("the name %q stands twice in it", key)
			}
			if members[key], err = unique(in); err != nil {
				return nil, err
			}
		}
		_, err := in.Token()
		return members, err
	}
	return token, nil
}

// onceEach looks whether a JSON value, which has been found to be one, has a canonical form: each name stands once in its object, and each
// number can be. It comes to the same as canonical does, at a fraction of the time.
func onceEach(body []byte) error {
	var open []map[string]bool // the names of each object that has begun; nil: an array
	name := false              // the next string is a name
	for i := 0; i < len(body); i++ {
		switch c := body[i]; c {
		case '{':
			open, name = append(open, map[string]bool{}), true
		case '[':
			open, name = append(open, nil), false
		case '}', ']':
			open = open[:len(open)-1]
		case ',':
			name = open[len(open)-1] != nil
		case '"':
			end := i + 1
			for ; body[end] != '"'; end++ {
				if body[end] == '\\' {
					end++
				}
			}
			if name {
				key := string(body[i+1 : end])
				if strings.Contains(key, `\`) || !utf8.ValidString(key) {
					key = stringOf(body[i : end+1])
				}
				names := open[len(open)-1]
				if names[key] {
					return fmt.Errorf("the name %q stands twice in it", key)
				}
				names[key], name = true, false
			}
			i = end
		case '-', '0', '1', '2', '3', '4', '5', '6', '7', '8', '9':
			end := i + 1
			for ; end < len(body) && strings.IndexByte("+-.eE0123456789", body[end]) >= 0; end++ {
			}
			if end-i > 15 || bytes.ContainsAny(body[i:end], "eE") {
				if _, err := number(json.Number(body[i:end])); err != nil {
					return err
				}
			}
			i = end - 1
		}
	}
	return nil
}

// number is a number in its shortest form.
func number(n json.Number) (any, error) {
	if len(n) < 100 { // more digits are no number that anybody keeps
		if whole, ok := new(big.Int).SetString(n.String(), 10); ok {
			return json.RawMessage(whole.String()), nil
		}
	}
	f, err := strconv.ParseFloat(n.String(), 64)
	if err != nil {
		return nil, fmt.Errorf("%s is beyond what a number can be", n)
	}
	if f == math.Trunc(f) && math.Abs(f) <= 1<<53 {
		return json.RawMessage(strconv.FormatInt(int64(f), 10)), nil
	}
	return json.RawMessage(strconv.FormatFloat(f, 'g', -1, 64)), nil
}

// asWritten is a JSON value with its members in the order in which they stand, and all else as this program writes it: what
// another program has passed on with other blanks, escapes and forms of numbers is what it was.
func asWritten(body []byte) ([]byte, error) {
	in := json.NewDecoder(bytes.NewReader(body))
	in.UseNumber()
	var out bytes.Buffer
	err := rewrite(in, &out)
	return out.Bytes(), err
}

func rewrite(in *json.Decoder, out *bytes.Buffer) error {
	token, err := in.Token()
	if err != nil {
		return err
	}
	switch token := token.(type) {
	case json.Number:
		if f, err := token.Float64(); err == nil && strings.ContainsAny(token.String(), ".eE") {
			out.Write(toJSON(f))
			return nil
		}
		out.WriteString(token.String())
		return nil
	case json.Delim:
		out.WriteString(token.String())
		for first := true; in.More(); first = false {
			if !first {
				out.WriteByte(',')
			}
			if token == '{' {
				if err := rewrite(in, out); err != nil {
					return err
				}
				out.WriteByte(':')
			}
			if err := rewrite(in, out); err != nil {
				return err
			}
		}
		end, err := in.Token()
		if err == nil {
			fmt.Fprint(out, end)
		}
		return err
	}
	out.Write(toJSON(token))
	return nil
}
