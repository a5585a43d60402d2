"""Where a line departs from the fair flare around it: found, told and weighed. Not what a bell keeps of a facet."""
