package reference

// NMEARow is an NMEA 0183 sentence from public documentation.
type NMEARow struct {
	Sentence string // without the line end
	Sum      byte   // the checksum it should carry
	Valid    bool   // whether it carries that
	Origin
}

var nmeaOrigin = Origin{Seen, "public documentation of the sentences; checksums verified"}

// NMEA holds sentences a boat's instruments send; one has a bad checksum on
// purpose.
var NMEA = []NMEARow{
	{"$VWVHW,45.0,T,43.0,M,3.5,N,6.4,K*56", 0x56, true, nmeaOrigin},
	{"$GPVTG,45.5,T,67.5,M,30.45,N,56.40,K*4B", 0x4B, true, nmeaOrigin},
	{"$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34", 0x34, true, nmeaOrigin},
	{"$GPRMC,220516,A,5133.82,N,00042.24,W,173.8,231.8,130694,004.2,W*70", 0x70, true, nmeaOrigin},
	{"$SDDPT,0.5,0.5,*7B", 0x7B, true, nmeaOrigin},
	{"$INDPT,2.3,0.0*46", 0x46, true, nmeaOrigin},
	{"$INMTW,17.9,C*1B", 0x1B, true, nmeaOrigin},
	{"$HCHDG,98.3,0.1,E,12.6,W*56", 0x56, true, nmeaOrigin},
	{"$GPHDT,123.456,T*32", 0x32, true, nmeaOrigin},
	{"$SDDPT,0.5,0.5,*AA", 0x7B, false, nmeaOrigin},
	{"$SDDPT,7.6,-0.5*7E", 0x7E, true, nmeaOrigin},
	{"$SDMTW,18.5,C*08", 0x08, true, nmeaOrigin},
}
