package strictyaml

import "io/fs"

// ReadFolder reads each file of a folder that is compiled in. Read gives the name that a
// file is known by, what it holds, and its faults. A folder that can't be read is a slip
// of whoever compiled it in, and panics.
func ReadFolder[T any](files fs.FS, folder string, read func(file string, src []byte) (name string, holds T, faults Faults)) (map[string]T, Faults) {
	list, err := fs.ReadDir(files, folder)
	if err != nil {
		panic(err)
	}
	all := map[string]T{}
	var faults Faults
	for _, entry := range list {
		file := folder + "/" + entry.Name()
		src, err := fs.ReadFile(files, file)
		if err != nil {
			panic(err)
		}
		name, holds, found := read(file, src)
		faults = append(faults, found...)
		all[name] = holds
	}
	return all, faults
}
