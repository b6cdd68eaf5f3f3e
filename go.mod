module sternfan

go 1.27

toolchain go1.27.3
