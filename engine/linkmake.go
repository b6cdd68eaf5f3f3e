//go:build !core

package engine

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"io"
	"unicode/utf8"
)

// LinkAnswer is the payload of a link.
type LinkAnswer struct {
	Payload string `json:"payload"` // after the #; letters, digits and - _ . only
}

// EncodeLink returns the payload that carries a text.
func EncodeLink(text string) (string, error) {
	if len(text) > maxLinkText || !utf8.ValidString(text) {
		return "", linkFault("too-large", "this scenario does not fit in a link", "share the file instead")
	}
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.BestCompression)
	if err == nil {
		_, err = io.WriteString(w, text)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		panic("engine: DEFLATE in memory failed: " + err.Error())
	}
	payload := "1." + base64.RawURLEncoding.EncodeToString(b.Bytes())
	if len(payload) > maxLink {
		return "", linkFault("too-large", "this scenario does not fit in a link", "share the file instead")
	}
	return payload, nil
}

func (e *Engine) link(_ *Call, ask *FileText) (*LinkAnswer, error) {
	payload, err := EncodeLink(ask.Text)
	if err != nil {
		return nil, err
	}
	return &LinkAnswer{payload}, nil
}
