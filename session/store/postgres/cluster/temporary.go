package cluster

import (
	"errors"
	"flag"
	"os"
	"runtime"
	"strconv"
)

// Run runs the tests of a process with a folder of their own for temporary files,
// which goes with them. It lies in memory where the system has room there: a test
// that kills programs loses nothing of what a system had taken. Benchmarks wait
// for a disk, as those do whose speed they measure. Twice as many tests as usual run at
// once, since they mostly wait for servers and programs.
func Run(tests func() int) int {
	flag.Parse()
	if at := flag.Lookup("test.parallel"); at.Value.String() == at.DefValue {
		flag.Set("test.parallel", strconv.Itoa(2*runtime.GOMAXPROCS(0)))
	}
	parent := ""
	if flag.Lookup("test.bench").Value.String() == "" {
		parent = memory()
	}
	home, err := os.MkdirTemp(parent, "t")
	if err == nil {
		err = errors.Join(os.Chmod(home, 0o711), os.Setenv("TMPDIR", home)) // a server's user passes through it
	}
	if err != nil {
		panic(err)
	}
	template.home = home
	defer os.RemoveAll(home)
	return tests()
}
