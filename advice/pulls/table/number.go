package table

import (
	"bytes"
	"math"
	"strconv"
)

// tens are the powers of ten that a float64 holds exactly.
var tens = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// mostNumber is far above any time in nanoseconds, and its square is finite.
const mostNumber = 1e19

// mostDigits fit a float64 without loss.
const mostDigits = 15

// quick reads a plain number, digits with a sign and a decimal sign, from the
// beginning of b. It returns how many bytes it took, 0 where the cell needs a
// closer look. The result is the nearest float64: both halves of the division
// are exact.
func quick(b []byte, point byte) (value float64, n int) {
	i := 0
	negative := len(b) > 0 && b[0] == '-'
	if negative {
		i++
	}
	start, mantissa := i, uint64(0)
	for ; i < len(b); i++ {
		d := b[i] - '0'
		if d > 9 {
			break
		}
		mantissa = mantissa*10 + uint64(d)
	}
	digits, decimals := i-start, 0
	if i < len(b) && b[i] == point {
		i++
		from := i
		for ; i < len(b); i++ {
			d := b[i] - '0'
			if d > 9 {
				break
			}
			mantissa = mantissa*10 + uint64(d)
		}
		decimals = i - from
		digits += decimals
	}
	if digits == 0 || digits > mostDigits {
		return 0, 0
	}
	value = float64(mantissa)
	if decimals > 0 {
		value /= tens[decimals]
	}
	if negative {
		value = -value
	}
	return value, i
}

// parseNumber reads a cell that is one number, blanks around it allowed.
func parseNumber(cell []byte, comma bool) (float64, bool) {
	cell = bytes.TrimSpace(cell)
	point := byte('.')
	if comma {
		point = ','
	}
	if v, n := quick(cell, point); n > 0 && n == len(cell) {
		return v, true
	}
	if len(cell) == 0 || len(cell) > 64 || !numeric(cell) {
		return 0, false
	}
	text := string(cell)
	if comma {
		if bytes.IndexByte(cell, '.') >= 0 {
			return 0, false
		}
		text = string(bytes.Replace(cell, []byte(","), []byte("."), 1))
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && math.Abs(v) <= mostNumber
}

// numeric tells whether only characters of a decimal number stand in cell:
// strconv also takes hexadecimal numbers, names and underscores.
func numeric(cell []byte) bool {
	digits := false
	for _, c := range cell {
		switch {
		case c >= '0' && c <= '9':
			digits = true
		case c != '.' && c != ',' && c != '+' && c != '-' && c != 'e' && c != 'E':
			return false
		}
	}
	return digits
}

// isEmpty tells whether a cell says that there is no value.
func isEmpty(cell []byte) bool {
	cell = bytes.TrimSpace(cell)
	if len(cell) == 0 || len(cell) > 8 {
		return len(cell) == 0
	}
	switch string(bytes.ToLower(cell)) {
	case "-", "--", "---", "n/a", "na", "#n/a", "nan", "null", "none", "inf", "-inf", "?":
		return true
	}
	return false
}

// parseClock reads a time of day, hours:minutes with seconds and their parts,
// or minutes:seconds.parts; a date may stand before it, parted by a blank or a
// T, a zone behind it. It returns seconds since midnight; what day it is, the
// reader finds out by midnights that pass.
func parseClock(cell []byte) (seconds float64, ok bool) {
	if seconds, ok = quickClock(cell); ok {
		return seconds, true
	}
	cell = bytes.TrimSpace(cell)
	if len(cell) < 4 || len(cell) > 40 {
		return 0, false
	}
	if at := bytes.IndexAny(cell, "T "); at > 0 && isDate(cell[:at]) {
		cell = cell[at+1:]
	}
	return timeOfDay(cell)
}

// quickClock reads the usual form, 17:58:02.288, and nothing else.
func quickClock(b []byte) (seconds float64, ok bool) {
	if len(b) < 8 || b[2] != ':' || b[5] != ':' {
		return 0, false
	}
	two := func(i int) (int, bool) {
		tens, ones := b[i]-'0', b[i+1]-'0'
		return int(tens)*10 + int(ones), tens <= 9 && ones <= 9
	}
	hours, okH := two(0)
	minutes, okM := two(3)
	rest, n := quick(b[6:], '.')
	if !okH || !okM || n != len(b)-6 || b[6] == '-' || minutes > 59 || rest >= 61 {
		return 0, false
	}
	return float64(hours*3600+minutes*60) + rest, true
}

// timeOfDay reads "17:58:02.288", "17:58:02,288", "58:02.288", "5:58:02 PM".
func timeOfDay(b []byte) (float64, bool) {
	b, noon := cutNoon(cutZone(b))
	var part [3]float64
	count := 0
	for {
		point := byte('.')
		if bytes.IndexByte(b, ',') >= 0 {
			point = ','
		}
		v, n := quick(b, point)
		if n == 0 || v < 0 || b[0] == '-' {
			return 0, false
		}
		part[count] = v
		count++
		if n == len(b) {
			break
		}
		if b[n] != ':' || v != math.Trunc(v) || count == len(part) {
			return 0, false
		}
		b = b[n+1:]
	}
	if count < 2 {
		return 0, false
	}
	hours, minutes, seconds := part[0], part[1], part[2]
	if count == 2 && part[1] != math.Trunc(part[1]) {
		hours, minutes, seconds = 0, part[0], part[1]
	}
	if minutes >= 60 && hours > 0 || seconds >= 61 {
		return 0, false
	}
	if noon != 0 {
		hours = math.Mod(hours, 12)
		if noon == 'p' {
			hours += 12
		}
	}
	return hours*3600 + minutes*60 + seconds, true
}

// cutZone cuts "Z", "+01:00" and "+0100" off.
func cutZone(b []byte) []byte {
	if len(b) > 1 && b[len(b)-1] == 'Z' {
		return b[:len(b)-1]
	}
	if at := bytes.LastIndexAny(b, "+-"); at > 3 {
		return b[:at]
	}
	return b
}

// cutNoon cuts AM and PM off and tells which: 'a', 'p' or 0.
func cutNoon(b []byte) ([]byte, byte) {
	if len(b) < 3 {
		return b, 0
	}
	end := bytes.ToLower(b[len(b)-2:])
	if end[1] != 'm' || end[0] != 'a' && end[0] != 'p' {
		return b, 0
	}
	return bytes.TrimRight(b[:len(b)-2], " "), end[0]
}

// isDate tells whether b is three groups of digits: 2026-11-25, 25.11.2026,
// 11/25/2026.
func isDate(b []byte) bool {
	groups, digits := 0, 0
	for _, c := range b {
		switch {
		case c >= '0' && c <= '9' && digits < 4:
			digits++
		case (c == '-' || c == '/' || c == '.') && digits > 0:
			groups, digits = groups+1, 0
		default:
			return false
		}
	}
	return groups == 2 && digits > 0
}
