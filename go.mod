module dropwalk

go 1.26
