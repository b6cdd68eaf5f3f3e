package logbook

import (
	"encoding/binary"
	"errors"
	"math"
	"math/bits"

	"sternfan/event"

	"sternfan"
)

// packVersion begins every packed effort; another version is stale and packed anew.
const packVersion = 1

// packer writes a trip's stints in few bytes: words once, times as differences, measures
// that are known and no others.
type packer struct {
	out   []byte
	words map[string]uint64
	list  []string
}

func (p *packer) word(s string) uint64 {
	n, ok := p.words[s]
	if !ok {
		n = uint64(len(p.list))
		p.words[s] = n
		p.list = append(p.list, s)
	}
	return n
}

func (p *packer) u(v uint64) { p.out = binary.AppendUvarint(p.out, v) }
func (p *packer) i(v int64)  { p.out = binary.AppendVarint(p.out, v) }

// pack returns the stints of one trip as bytes; setup returns the number under which the
// database keeps a setup, from 1.
func pack(stints []sternfan.Stint, setup func(*sternfan.Setup) (uint64, error)) ([]byte, error) {
	p := packer{words: map[string]uint64{}}
	var before int64
	for i := range stints {
		s := &stints[i]
		p.u(p.word(s.Rod))
		p.u(p.word(s.Position))
		p.out = append(p.out, byte(s.Side+1))
		p.i(s.From - before)
		before = s.From
		p.u(uint64(max(0, s.To-s.From)))
		p.i(int64(s.East))
		var n uint64
		if s.Setup != nil {
			var err error
			if n, err = setup(s.Setup); err != nil {
				return nil, err
			}
		}
		p.u(n)
		p.u(uint64(s.Measures.Known))
		for m := range sternfan.Measured {
			if v, ok := s.Measures.Get(m); ok {
				p.out = binary.LittleEndian.AppendUint32(p.out, math.Float32bits(float32(v)))
			}
		}
		p.u(uint64(len(s.Strikes)))
		for _, k := range s.Strikes {
			id, err := event.ParseID(k.ID)
			if err != nil {
				return nil, err
			}
			p.out = append(p.out, id[:]...)
			p.i(k.At - s.From)
			p.u(p.word(k.Species))
			landed := byte(0)
			if k.Landed {
				landed = 1
			}
			p.out = append(p.out, landed)
		}
	}
	head := packer{}
	head.out = append(head.out, packVersion)
	head.u(uint64(len(p.list)))
	for _, w := range p.list {
		head.u(uint64(len(w)))
		head.out = append(head.out, w...)
	}
	head.u(uint64(len(stints)))
	return append(head.out, p.out...), nil
}

var errPacked = errors.New("packed effort is cut short or garbled")

// unpacker reads what packer wrote. A fault sticks, and everything after it is zero.
type unpacker struct {
	in  []byte
	bad bool
}

func (u *unpacker) u() uint64 {
	v, n := binary.Uvarint(u.in)
	if n <= 0 {
		u.bad = true
		u.in = nil
		return 0
	}
	u.in = u.in[n:]
	return v
}

func (u *unpacker) i() int64 {
	v, n := binary.Varint(u.in)
	if n <= 0 {
		u.bad = true
		u.in = nil
		return 0
	}
	u.in = u.in[n:]
	return v
}

func (u *unpacker) take(n uint64) []byte {
	if n > uint64(len(u.in)) {
		u.bad = true
		u.in = nil
		return nil
	}
	b := u.in[:n]
	u.in = u.in[n:]
	return b
}

func (u *unpacker) byte() byte {
	if b := u.take(1); b != nil {
		return b[0]
	}
	return 0
}

// words shares equal texts between trips: there are few, in many trips.
type words map[string]string

func (w words) share(b []byte) string {
	if s, ok := w[string(b)]; ok {
		return s
	}
	s := string(b)
	w[s] = s
	return s
}

// unpack appends the stints of one trip.
func unpack(into []sternfan.Stint, data []byte, trip string, setups []*sternfan.Setup, shared words) ([]sternfan.Stint, error) {
	var s sternfan.Stint
	err := unpackEach(data, trip, setups, shared, &s, true, func(s *sternfan.Stint) error {
		into = append(into, *s)
		s.Strikes = nil
		return nil
	})
	return into, err
}

// unpackEach hands over the stints of one trip, one after the other in s, whose strikes
// are written over with the next unless they are taken away; ids says whether the strikes
// are named.
func unpackEach(data []byte, trip string, setups []*sternfan.Setup, shared words, s *sternfan.Stint, ids bool, do func(*sternfan.Stint) error) error {
	u := unpacker{in: data}
	if u.byte() != packVersion {
		return errPacked
	}
	n := u.u()
	if n > uint64(len(data)) {
		return errPacked
	}
	list := make([]string, n)
	for i := range list {
		list[i] = shared.share(u.take(u.u()))
	}
	count := u.u()
	if count > uint64(len(data)) {
		return errPacked
	}
	var before int64
	for range count {
		strikes := s.Strikes[:0]
		*s = sternfan.Stint{Trip: trip, Rod: u.word(list), Position: u.word(list)}
		s.Side = sternfan.Side(u.byte()) - 1
		before += u.i()
		s.From = before
		s.To = s.From + int64(u.u())
		s.East = int32(u.i())
		if n := u.u(); n > 0 {
			if n >= uint64(len(setups)) || setups[n] == nil {
				return errPacked
			}
			s.Setup = setups[n]
		}
		known := uint16(u.u())
		if bits.Len16(known) > int(sternfan.Measured) {
			return errPacked
		}
		for m := range sternfan.Measured {
			if known&(1<<m) != 0 {
				if b := u.take(4); b != nil {
					s.Measures.Set(m, float64(math.Float32frombits(binary.LittleEndian.Uint32(b))))
				}
			}
		}
		n := u.u()
		if n > uint64(len(u.in)) {
			return errPacked
		}
		for range n {
			k := sternfan.Strike{}
			if b := u.take(16); b != nil && ids {
				k.ID = event.ID(b).String()
			}
			k.At = s.From + u.i()
			k.Species = u.word(list)
			k.Landed = u.byte() != 0
			strikes = append(strikes, k)
		}
		if u.bad {
			return errPacked
		}
		if s.Strikes = nil; n > 0 {
			s.Strikes = strikes
		}
		if err := do(s); err != nil {
			return err
		}
		if n == 0 {
			s.Strikes = strikes
		}
	}
	if u.bad || len(u.in) > 0 {
		return errPacked
	}
	return nil
}

// word reads the number of a word and returns the word.
func (u *unpacker) word(list []string) string {
	i := u.u()
	if i >= uint64(len(list)) {
		u.bad = true
		return ""
	}
	return list[i]
}
