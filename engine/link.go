package engine

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"errors"
	"io"
	"strings"
	"unicode/utf8"

	"sternfan"
)

// LinkVersion is the version of the payload that links made here carry. Every version
// ever made is read forever; testdata/links keeps one of each.
//
// Version 1 is "1." and then, in base64url without padding, the DEFLATE (RFC 1951) of
// the scenario file's text in UTF-8.
const LinkVersion = 1

// Limits of a link: of its characters, and of the text inside it, which is what a
// scenario file may have.
const (
	maxLink     = 200_000
	maxLinkText = 1 << 20
)

// LinkAsk is the payload of a link, as it stands after the #.
type LinkAsk struct {
	Payload string `json:"payload"`
}

// DecodeLink returns the text that a payload carries. Whoever made the link may mean
// harm: it takes bounded time and memory, and what it returns is text, nothing more.
// The error is a sternfan.Faults.
func DecodeLink(payload string) (string, error) {
	payload = strings.TrimPrefix(payload, "#")
	version, data, ok := strings.Cut(payload, ".")
	switch {
	case len(payload) > maxLink:
		return "", linkFault("too-large", "this link is too long", "ask for the file instead")
	case !ok || version == "" || strings.Trim(version, "0123456789") != "":
		return "", linkFault("bad-link", "this link carries no scenario", "check that all of it was copied")
	case version != "1":
		return "", linkFault("bad-link", "this link was made by a later version", "load the app anew to get it")
	}
	packed, err := base64.RawURLEncoding.Strict().DecodeString(strings.TrimRight(data, "="))
	if err != nil {
		return "", linkFault("bad-link", "this link is damaged", "check that all of it was copied")
	}
	r := flate.NewReader(bytes.NewReader(packed))
	text, err := io.ReadAll(io.LimitReader(r, maxLinkText+1))
	switch {
	case len(text) > maxLinkText:
		return "", linkFault("too-large", "this link carries too much", "ask for the file instead")
	case err != nil && !errors.Is(err, io.EOF), len(text) == 0:
		return "", linkFault("bad-link", "this link is damaged", "check that all of it was copied")
	case !utf8.Valid(text):
		return "", linkFault("bad-link", "this link carries no text", "ask for the file instead")
	}
	return string(text), nil
}

func linkFault(code, text, hint string) error {
	return sternfan.Faults{{Code: code, Text: text, Hint: hint}}
}

func (e *Engine) unlink(_ *Call, ask *LinkAsk) (*FileText, error) {
	text, err := DecodeLink(ask.Payload)
	if err != nil {
		return nil, err
	}
	return &FileText{text}, nil
}
