"""The pages of a watch: what a person reads of it on screen and on paper, its pictures and its files. Not what it
found."""
