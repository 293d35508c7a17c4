package main

import (
	"fmt"
	"os"
	"path/filepath"

	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/specsheet"
	"conewright/ts/notice"
)

// Sheets are the TOML files in the folder and in those of its jobs that are spec sheets.
func (w *workshop) Sheets() []benchpage.Sheet {
	paths, _ := filepath.Glob(filepath.Join(w.folder, "*.toml"))
	ofJobs, _ := filepath.Glob(filepath.Join(w.folder, "*", "*.toml"))
	var list []benchpage.Sheet
	for _, path := range append(paths, ofJobs...) {
		if sheet, _, err := specsheet.Read(path); err == nil {
			name, _ := filepath.Rel(w.folder, path)
			if sheet.Name != "" {
				name = sheet.Name + " (" + name + ")"
			}
			list = append(list, benchpage.Sheet{Path: path, Name: name})
		}
	}
	return list
}

// Paper are the options of conewright spec new.
func (w *workshop) Paper() []benchpage.PaperValue {
	list := []benchpage.PaperValue{{Name: "name", Title: "Type, as printed"}}
	for _, v := range paperValues {
		title := v.id.String()
		if v.option == "le" {
			title = "Le" // as it is printed
		}
		usual := fmt.Sprintf("%.0f %%", 100*v.tolerance)
		if unit := quantity.Screen(v.id).Name; unit != "" {
			usual = unit + ", " + usual
		}
		list = append(list, benchpage.PaperValue{Name: v.option, Title: title, Usual: usual})
	}
	return append(list, benchpage.PaperValue{Name: "nominal", Title: "Nominal impedance", Usual: "ohm; for Re where that is not printed"})
}

// paperPrefix is before the names of fields for values of a data sheet.
const paperPrefix = "paper-"

// NewSheet writes what conewright spec new writes. A sheet that is there stays as it is; where it
// is the same, there is no need for another.
func (w *workshop) NewSheet(dir string, typed map[string]string) (string, error) {
	groups := newOptionGroups("spec new")
	var paper paperOptions
	paper.define(groups.group("Values"))
	if err := fill(groups.all(), paperPrefix, typed); err != nil {
		return "", err
	}
	s := paper.sheet()
	if len(s.limits) == 0 {
		return "", &benchpage.FieldError{Field: "sheet", Err: notice.New("job-no-paper", nil)}
	}
	sheet, err := s.text()
	if err != nil {
		return "", err
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return "", err
	}
	return newFile(dir, "paper-values", ".toml", sheet)
}
