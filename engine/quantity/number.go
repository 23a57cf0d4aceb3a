package quantity

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
	"unicode/utf8"
)

// numeral is a number as written. Where one comma stands before exactly three
// digits it has two values: the comma as a mark of thousands, then as a
// decimal comma.
type numeral struct {
	values   []*big.Rat
	negative bool
	signed   bool // a sign was written
	whole    bool // digits only
	proper   bool // a lone fraction below one, such as 1/2
}

// value returns the number under one reading of its comma: 0 for thousands,
// 1 for decimals.
func (n numeral) value(comma int) *big.Rat {
	return n.values[min(comma, len(n.values)-1)]
}

func (n numeral) negated() numeral {
	m := n
	m.values = nil
	for _, v := range n.values {
		m.values = append(m.values, new(big.Rat).Neg(v))
	}
	m.negative = !n.negative
	return m
}

// plus adds a fraction to the size of a whole number.
func (n numeral) plus(fraction numeral) numeral {
	size := new(big.Rat).Abs(n.values[0])
	size.Add(size, fraction.values[0])
	if n.negative {
		size.Neg(size)
	}
	return numeral{values: []*big.Rat{size}, negative: n.negative, signed: n.signed}
}

var vulgar = map[rune]*big.Rat{
	'½': big.NewRat(1, 2), '¼': big.NewRat(1, 4), '¾': big.NewRat(3, 4),
	'⅓': big.NewRat(1, 3), '⅔': big.NewRat(2, 3),
	'⅛': big.NewRat(1, 8), '⅜': big.NewRat(3, 8), '⅝': big.NewRat(5, 8), '⅞': big.NewRat(7, 8),
}

// startsNumber tells whether a number could begin here.
func startsNumber(s string) bool {
	s = strings.TrimLeft(strings.TrimLeft(s, "+-"), " ")
	r, _ := utf8.DecodeRuneInString(strings.TrimLeft(s, ".,"))
	_, fraction := vulgar[r]
	return isDigit(r) || fraction
}

// scan takes one number off the front of s and returns what follows it.
func scan(s string) (numeral, string, *Fault) {
	n := numeral{}
	rest := s
	if rest != "" && (rest[0] == '-' || rest[0] == '+') {
		n.signed, n.negative = true, rest[0] == '-'
		rest = strings.TrimLeft(rest[1:], " ")
	}
	body, rest := takeDigits(rest)
	if exponent(body, rest) {
		return n, "", &Fault{What: fmt.Sprintf("%q has an exponent", s), Expected: "the number in full, such as 1000"}
	}
	fraction, tail, fault := takeFraction(body, rest)
	switch {
	case fault != nil:
		return n, "", fault
	case fraction != nil && strings.HasPrefix(rest, "/"):
		body = "" // the digits were the upper part of a lone fraction
		n.proper = fraction.Cmp(big.NewRat(1, 1)) < 0
	case body == "" && fraction == nil:
		return n, "", &Fault{What: fmt.Sprintf("%q does not begin with a number", s)}
	}
	fault = n.assemble(body, fraction)
	return n, tail, fault
}

// takeDigits takes digits, dots and commas off the front of s, but not the two
// dots of a range.
func takeDigits(s string) (body, rest string) {
	i := 0
	for i < len(s) && (isDigit(rune(s[i])) || s[i] == '.' || s[i] == ',') && !strings.HasPrefix(s[i:], "..") {
		i++
	}
	return s[:i], s[i:]
}

func exponent(body, rest string) bool {
	if body == "" || rest == "" || rest[0] != 'e' && rest[0] != 'E' {
		return false
	}
	digits, _ := takeDigits(strings.TrimLeft(rest[1:], "+-"))
	return digits != ""
}

// takeFraction takes the fraction that follows body: 1/2 after a space, a
// fraction sign, or "/2" where body itself is the upper part.
func takeFraction(body, rest string) (*big.Rat, string, *Fault) {
	after := strings.TrimLeft(rest, " ")
	if r, size := utf8.DecodeRuneInString(after); vulgar[r] != nil {
		return vulgar[r], after[size:], nil
	}
	top := body
	if !strings.HasPrefix(rest, "/") {
		if top, after = takeDigits(after); after == "" || len(rest) > 0 && rest[0] != ' ' {
			return nil, rest, nil
		}
	}
	if top == "" || !strings.HasPrefix(after, "/") {
		return nil, rest, nil
	}
	bottom, tail := takeDigits(after[1:])
	if bottom == "" {
		return nil, rest, nil // 3000 1/min
	}
	fraction, ok := ratio(top, bottom)
	switch {
	case !ok:
		return nil, "", &Fault{What: fmt.Sprintf("%q is not a fraction", top+"/"+bottom), Expected: "two whole numbers below 10000, such as 1/2"}
	case !strings.HasPrefix(rest, "/") && fraction.Cmp(big.NewRat(1, 1)) >= 0:
		return nil, "", &Fault{What: fmt.Sprintf("%q after a whole number is not below one", top+"/"+bottom)}
	}
	return fraction, tail, nil
}

func ratio(top, bottom string) (*big.Rat, bool) {
	a, err := strconv.ParseUint(top, 10, 64)
	b, err2 := strconv.ParseUint(bottom, 10, 64)
	if err != nil || err2 != nil || a > 9999 || b > 9999 || b == 0 {
		return nil, false
	}
	return big.NewRat(int64(a), int64(b)), true
}

// assemble gives n its values.
func (n *numeral) assemble(body string, fraction *big.Rat) *Fault {
	n.whole = body != "" && fraction == nil && strings.Trim(body, "0123456789") == ""
	if body != "" && fraction != nil && strings.Trim(body, "0123456789") != "" {
		return &Fault{What: fmt.Sprintf("%q is followed by a fraction", body), Expected: "a whole number before a fraction, such as 12 1/2"}
	}
	bodies, ok := plainDecimals(body)
	if !ok {
		return &Fault{What: fmt.Sprintf("%q is not a number", body), Expected: "one decimal point or comma, such as 12.5"}
	}
	for _, b := range bodies {
		v, fault := parseDecimal(b)
		if fault != nil {
			return fault
		}
		if fraction != nil {
			v.Add(v, fraction)
		}
		if n.negative {
			v.Neg(v)
		}
		n.values = append(n.values, v)
	}
	return nil
}

// plainDecimals writes body with a decimal point and no marks of thousands. A
// comma before exactly three digits can be either, so both come back,
// thousands first. A dot before three digits is always decimal: the dot is the
// decimal mark wherever this program writes or stores a number, so 1.250 must
// not change its meaning with the number of its digits.
func plainDecimals(body string) ([]string, bool) {
	dots, commas := strings.Count(body, "."), strings.Count(body, ",")
	withPoint := strings.Replace(body, ",", ".", 1)
	switch {
	case body == "":
		return []string{"0"}, true
	case dots+commas == 0:
		return []string{body}, true
	case dots == 1 && commas == 0:
		return []string{body}, strings.Trim(body, ".") != ""
	case commas == 1 && dots == 0:
		if joined, ok := joinThousands(body, ","); ok {
			return []string{joined, withPoint}, true
		}
		return []string{withPoint}, !strings.HasSuffix(body, ",")
	case dots == 0 || commas == 0:
		joined, ok := joinThousands(body, body[strings.IndexAny(body, ".,"):][:1])
		return []string{joined}, ok
	}
	last := body[strings.LastIndexAny(body, ".,"):]
	mark := "."
	if last[0] == '.' {
		mark = ","
	}
	joined, ok := joinThousands(strings.TrimSuffix(body, last), mark)
	return []string{joined + "." + last[1:]}, ok && len(last) > 1
}

// joinThousands takes out a mark of thousands; false where the groups are not
// one to three digits and then threes, or where the first is a nought.
func joinThousands(s, mark string) (string, bool) {
	groups := strings.Split(s, mark)
	for i, g := range groups {
		if strings.Trim(g, "0123456789") != "" || i > 0 && len(g) != 3 {
			return "", false
		}
	}
	first := groups[0]
	return strings.Join(groups, ""), len(groups) > 1 && 1 <= len(first) && len(first) <= 3 && first[0] != '0'
}

// parseDecimal reads digits with at most one point, exactly.
func parseDecimal(s string) (*big.Rat, *Fault) {
	before, after, _ := strings.Cut(s, ".")
	before = strings.TrimLeft(before, "0")
	if len(before) > maxWhole || len(after) > maxDecimals {
		return nil, &Fault{What: fmt.Sprintf("%q has too many digits", s), Expected: fmt.Sprintf("at most %d before the decimal mark and %d after it", maxWhole, maxDecimals)}
	}
	v, ok := new(big.Rat).SetString("0" + before + "." + after + "0")
	if !ok {
		return nil, &Fault{What: fmt.Sprintf("%q is not a number", s)}
	}
	if v.Sign() != 0 && v.Cmp(smallest) < 0 {
		return nil, &Fault{What: fmt.Sprintf("%q is too small", s), Expected: "nought, or a number above 1e-18"}
	}
	return v, nil
}

var smallest, _ = new(big.Rat).SetString("1e-18")

// decimal writes v with at most n decimals and no noughts at its end.
func decimal(v *big.Rat, n int) string {
	return trimZeros(v.FloatString(n))
}

func trimZeros(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}
