package table

import (
	"slices"
	"strings"

	"conewright/ts/notice"
)

// named is what a header says of the columns. A column with an unknown name is taken for
// what nothing else holds when its unit can be nothing else, as in "req[Hz]", or when its
// name is one letter away from a known one; guessed lists these.
func named(cols []column) (out []column, guessed []notice.Notice) {
	out = slices.Clone(cols)
	for _, r := range [...]role{frequency, phase, magnitude, realPart, imagPart} {
		if slices.ContainsFunc(out, func(c column) bool { return c.role == r }) || r == magnitude && complete(out) {
			continue
		}
		at := -1
		for i, c := range out {
			if c.role == ignored && (onlyUnit(r, c) || misspelt(r, c)) {
				if at >= 0 { // two may be meant
					at = -1
					break
				}
				at = i
			}
		}
		if at >= 0 {
			guessed = append(guessed, *notice.New("column-guessed", notice.Facts{"name": out[at].name, "holds": r.String()}))
			out[at].role = r
		}
	}
	return out, guessed
}

// onlyUnit says whether the unit of a column is one that of all roles only r has.
func onlyUnit(r role, c column) bool {
	return r == frequency && c.unit.kind == hertz || r == phase && c.unit.kind == radians
}

// misspelt says whether the name of a column is one letter away from one of role r that
// has four letters or more.
func misspelt(r role, c column) bool {
	if c.unit.kind != noUnit && !r.fits(c.unit.kind) {
		return false
	}
	name, _ := takeUnit(c.name)
	key := nameKey(name)
	for known, role := range roleNames {
		if role == r && len(known) >= 4 && oneLetterAway(key, known) {
			return true
		}
	}
	return false
}

// oneLetterAway says whether one letter that is missing, too many, another one, or
// exchanged with its neighbour makes b of a.
func oneLetterAway(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	switch len(b) - len(a) {
	case 0:
		return i < len(a) && (a[i+1:] == b[i+1:] ||
			i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:])
	case 1:
		return a[i:] == b[i+1:]
	}
	return false
}

// nameKey is a column name as it stands in roleNames.
func nameKey(name string) string {
	return strings.NewReplacer(" ", "", "\t", "", "_", "", "|", "", "(", "", ")", "", "[", "", "]", "", ".", "", "{", "", "}", "", "’", "'", "′", "'", "″", "''", "−", "-").Replace(strings.ToLower(name))
}
