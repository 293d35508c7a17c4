package quantity

import "conewright/ts/param"

// Usual says whether a quantity is one of those that a technician compares with a sheet;
// the others are shown when all are asked for.
func Usual(id param.ID) bool { return id <= param.Vas || id >= param.C }
