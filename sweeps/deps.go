package sweeps

import (
	_ "github.com/mjibson/go-dsp/fft"
	_ "github.com/pelletier/go-toml/v2"
	_ "github.com/rogpeppe/go-internal/testscript"
	_ "github.com/spf13/pflag"
	_ "pgregory.net/rapid"
)
