// Package event is the log's entries: their ids and moments, what each kind says, the one
// JSON text of each, and what is checked of it.
package event

import (
	"bytes"
	"fmt"
	"strings"
	"time"

	"sternfan"
)

// Event is one entry of a log. A log only grows: an event is never changed or taken
// away, and what was wrong in it is said by a later one, a [Fix]. Logs of several devices
// are joined as sets, so an event is the same wherever it is kept.
type Event struct {
	ID    ID              // made with the event, unlike any other
	At    Instant         // when it happened, by the clock of the device that wrote it
	By    string          // that device: "helm", "phone-1"
	Trip  ID              // the trip's first event; zero in that event, and where no trip is known
	Rod   string          // the rod it is about; "" for the boat
	Where *sternfan.Place // where the boat was, if that is known
	Body  Body            // what happened

	kept *kept // nil for one that was made here
}

// Body is what happened: one of the types of this package that [Kinds] lists, or [Unknown].
type Body interface {
	check(*bodyCheck)
}

// ID is a ULID: 48 bits of milliseconds since 1970, then 80 bits of chance. Compared
// as bytes, ids follow time.
type ID [16]byte

// crockford is the alphabet of a ULID's text: base 32 without I, L, O and U.
const crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// MakeID returns the id with a time in milliseconds since 1970 and the given chance.
// It panics when the time does not fit 48 bits.
func MakeID(milli int64, chance [10]byte) ID {
	if milli < 0 || milli >= 1<<48 {
		panic(fmt.Sprintf("event: %d ms does not fit an event id", milli))
	}
	var id ID
	for i := range 6 {
		id[i] = byte(milli >> (40 - 8*i))
	}
	copy(id[6:], chance[:])
	return id
}

// Milli returns the time in the id, in milliseconds since 1970.
func (id ID) Milli() int64 {
	var ms int64
	for _, b := range id[:6] {
		ms = ms<<8 | int64(b)
	}
	return ms
}

// IsZero reports whether the id is none.
func (id ID) IsZero() bool { return id == ID{} }

// Compare returns -1, 0 or 1 as id comes before, is, or comes after other.
func (id ID) Compare(other ID) int { return bytes.Compare(id[:], other[:]) }

// String returns the 26 characters of the ULID.
func (id ID) String() string {
	text, _ := id.MarshalText()
	return string(text)
}

// MarshalText returns the 26 characters of the ULID; it does not fail.
func (id ID) MarshalText() ([]byte, error) {
	text := make([]byte, 26)
	// 128 bits in groups of five from the right; the first character holds the top three.
	var acc, bits uint
	at := 25
	for i := 15; i >= 0; i-- {
		acc |= uint(id[i]) << bits
		for bits += 8; bits >= 5; bits -= 5 {
			text[at] = crockford[acc&31]
			acc >>= 5
			at--
		}
	}
	text[0] = crockford[acc&31]
	return text, nil
}

// UnmarshalText reads the 26 characters of a ULID. Lower case is taken, and the letters
// that are read for digits are not.
func (id *ID) UnmarshalText(text []byte) error {
	got, err := ParseID(string(text))
	if err == nil {
		*id = got
	}
	return err
}

// ParseID returns the id that a text of 26 characters stands for.
func ParseID(text string) (ID, error) {
	var id ID
	if len(text) != 26 {
		return id, fmt.Errorf("an event's id has 26 characters, this has %d", len(text))
	}
	var acc, bits uint
	at := 15
	for i := 25; i >= 0; i-- {
		v := strings.IndexByte(crockford, upper(text[i]))
		if v < 0 {
			return ID{}, fmt.Errorf("an event's id has digits and capital letters without I, L, O, U; %q is not one", text[i])
		}
		if i == 0 && v > 7 {
			return ID{}, fmt.Errorf("an event's id begins with 0 to 7, not %q", text[0])
		}
		acc |= uint(v) << bits
		for bits += 5; bits >= 8 && at >= 0; bits -= 8 {
			id[at] = byte(acc)
			acc >>= 8
			at--
		}
	}
	return id, nil
}

func upper(c byte) byte {
	if 'a' <= c && c <= 'z' {
		return c - 'a' + 'A'
	}
	return c
}

// Instant is a moment as a device's clock showed it, with the local time kept, since
// people think of a bite at ten past six and not of an instant in Greenwich.
type Instant struct {
	Milli  int64 // since 1970 UTC
	Offset int16 // minutes by which local time is ahead of UTC
}

// InstantOf returns the moment with the offset of its location.
func InstantOf(t time.Time) Instant {
	_, seconds := t.Zone()
	return Instant{Milli: t.UnixMilli(), Offset: int16(seconds / 60)}
}

// Time returns the moment in its own local time.
func (t Instant) Time() time.Time {
	return time.UnixMilli(t.Milli).In(time.FixedZone("", int(t.Offset)*60))
}

// Add returns the moment so many milliseconds later.
func (t Instant) Add(milli int64) Instant {
	t.Milli += milli
	return t
}

// IsZero reports whether the moment was not given.
func (t Instant) IsZero() bool { return t == Instant{} }

// Local returns the day as "2026-07-04" and the minute of that day, in local time.
func (t Instant) Local() (day string, minute int) {
	local := t.Time()
	return local.Format(time.DateOnly), local.Hour()*60 + local.Minute()
}

// String returns the moment as RFC 3339 with milliseconds and the local offset.
func (t Instant) String() string {
	return t.Time().Format("2006-01-02T15:04:05.000Z07:00")
}

// MarshalText returns the moment as [Instant.String] does.
func (t Instant) MarshalText() ([]byte, error) {
	return t.Time().AppendFormat(nil, "2006-01-02T15:04:05.000Z07:00"), nil
}

// UnmarshalText reads RFC 3339.
func (t *Instant) UnmarshalText(text []byte) error {
	got, err := ParseInstant(string(text))
	if err == nil {
		*t = got
	}
	return err
}

// The years that an event may be from: outside them a clock was never set.
const (
	firstYear = 1970
	lastYear  = 2199
)

// ParseInstant reads RFC 3339: a date, a time and the offset of local time.
func ParseInstant(text string) (Instant, error) {
	got, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return Instant{}, fmt.Errorf("a time is written as 2026-07-04T06:12:03.120-04:00; %s is not", clipText(text, 40))
	}
	if y := got.UTC().Year(); y < firstYear || y > lastYear {
		return Instant{}, fmt.Errorf("a time lies in the years %d to %d; %s does not", firstYear, lastYear, clipText(text, 40))
	}
	return InstantOf(got), nil
}

// clipText returns the text quoted, and cut when it is long.
func clipText(text string, most int) string {
	if len(text) > most {
		return fmt.Sprintf("%q...", text[:most])
	}
	return fmt.Sprintf("%q", text)
}
