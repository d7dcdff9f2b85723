package fhir

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"quietwater/model"
)

// Limits of a file (reliability plan, section 6). A family of five writes some
// 90 MiB in ten busy years, and what is written must come back. R4 says of a
// string that it has at most 1,048,576 characters; nothing in a bundle lies
// deeper than 64.
const (
	MaxBytes  = 128 << 20
	MaxString = 1 << 20
	MaxDepth  = 64
)

// FileError says why a file as a whole is refused.
type FileError struct{ Why model.Msg }

func (e *FileError) Error() string { return fmt.Sprintf("%s %v", e.Why.Key, e.Why.Args) }

func refuse(key string, args ...any) error { return &FileError{model.T(key, args...)} }

// node is a JSON object; numbers are json.Number, so that digits stay as they
// were written.
type node map[string]any

// parse takes a file apart and hands over each resource of its bundle, or the
// one resource it is, before it takes the next.
func parse(r io.Reader, take func(fullURL string, resource node)) error {
	text, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	text = bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))
	switch start := bytes.TrimLeft(text, " \t\r\n"); {
	case err != nil:
		return refuse("problem.file-unreadable")
	case len(text) > MaxBytes:
		return refuse("problem.file-too-big", "limit", MaxBytes>>20)
	case len(start) == 0:
		return refuse("problem.file-empty")
	case start[0] == '<':
		return refuse("problem.fhir-xml")
	case !utf8.Valid(text), start[0] != '{':
		return refuse("problem.fhir-not-json")
	}
	p := parser{json.NewDecoder(bytes.NewReader(text))}
	p.dec.UseNumber()
	p.dec.Token() // the brace seen above
	top := node{}
	err = p.members(top, 1, func(key string) (bool, error) {
		if key != "entry" {
			return false, nil
		}
		return true, p.entries(take)
	})
	if err == nil {
		if _, more := p.dec.Token(); more != io.EOF {
			err = errNotJSON
		}
	}
	if fe := (*FileError)(nil); err != nil && !errors.As(err, &fe) {
		return refuse("problem.fhir-not-json")
	}
	if err != nil {
		return err
	}
	switch top.text("resourceType") {
	case "Bundle":
		return nil
	case "Observation", "Patient", "DiagnosticReport":
		take("", top)
		return nil
	}
	return refuse("problem.fhir-no-bundle")
}

var errNotJSON = errors.New("not JSON")

type parser struct{ dec *json.Decoder }

// entries reads a bundle's entries, one after the other.
func (p *parser) entries(take func(string, node)) error {
	if tok, err := p.dec.Token(); err != nil || tok != json.Delim('[') {
		return errNotJSON
	}
	for p.dec.More() {
		v, err := p.value(2)
		if err != nil {
			return err
		}
		if entry, ok := v.(node); ok {
			if resource := entry.object("resource"); resource != nil {
				take(entry.text("fullUrl"), resource)
			}
		}
	}
	_, err := p.dec.Token()
	return err
}

// members reads an object up to its end. own may read a member itself.
func (p *parser) members(into node, depth int, own func(key string) (bool, error)) error {
	for p.dec.More() {
		tok, err := p.dec.Token()
		key, isKey := tok.(string)
		if err != nil || !isKey {
			return errNotJSON
		}
		if _, twice := into[key]; twice {
			// Which of the two is meant cannot be known.
			return refuse("problem.fhir-named-twice", "name", short(key))
		}
		into[key] = nil
		if done, err := own(key); done || err != nil {
			if err != nil {
				return err
			}
			continue
		}
		if into[key], err = p.value(depth + 1); err != nil {
			return err
		}
	}
	_, err := p.dec.Token()
	return err
}

func (p *parser) value(depth int) (any, error) {
	if depth > MaxDepth {
		return nil, refuse("problem.fhir-too-deep", "limit", MaxDepth)
	}
	tok, err := p.dec.Token()
	if err != nil {
		return nil, err
	}
	switch t := tok.(type) {
	case string:
		if len(t) > MaxString && utf8.RuneCountInString(t) > MaxString {
			return nil, refuse("problem.fhir-long-text", "limit", MaxString)
		}
	case json.Delim:
		if t == '{' {
			n := node{}
			return n, p.members(n, depth, func(string) (bool, error) { return false, nil })
		}
		list := []any{}
		for p.dec.More() {
			v, err := p.value(depth + 1)
			if err != nil {
				return nil, err
			}
			list = append(list, v)
		}
		_, err := p.dec.Token()
		return list, err
	}
	return tok, nil
}

// short keeps a foreign text short enough to stand in a message.
func short(s string) string {
	if r := []rune(strings.ToValidUTF8(s, "�")); len(r) > 80 {
		return string(r[:79]) + "…"
	}
	return s
}

func (n node) text(key string) string {
	s, _ := n[key].(string)
	return s
}

func (n node) object(key string) node {
	o, _ := n[key].(node)
	return o
}

// list gives the objects of an array.
func (n node) list(key string) (out []node) {
	all, _ := n[key].([]any)
	for _, v := range all {
		if o, ok := v.(node); ok {
			out = append(out, o)
		}
	}
	return out
}

// has reports a member that is not one of names.
func (n node) has(names ...string) bool {
	return slices.ContainsFunc(names, func(name string) bool { _, ok := n[name]; return ok })
}

// extension is the text of one of our extensions.
func (n node) extension(url string) (string, bool) {
	for _, e := range n.list("extension") {
		if e.text("url") == url {
			s, ok := e["valueString"].(string)
			return s, ok
		}
	}
	return "", false
}
