/* A machine with one channel, two planes, a ring of three holes and two kinds of hardware: invented. The same text is read
   by tests/expected/record.rs. */
#ifndef MACHINE_H
#define MACHINE_H

#include "check.h"

/* C99 promises strings of 4095 bytes. */
static const char machine_text[] =
    "{\"version\": 1, \"machine\": {"
    "\"name\": \"a trainer\", \"convention\": {\"phase\": \"lag\", \"rotor\": \"against_rotation\"}, "
    "\"planes\": [\"spinner bulkhead\", \"flywheel\"], "
    "\"channels\": [{\"sensor\": 1, \"unit\": {\"scale\": \"inch_per_second\", \"detector\": \"peak\"}, \"phase\": \"lag\", "
    "\"window\": {\"lowest_rpm\": 2326.5, \"nominal_rpm\": 2350.0, \"highest_rpm\": 2373.5}}], "
    "\"hardware\": [{\"name\": \"large washer\", \"mass_g\": 4.0}, {\"name\": \"small washer\", \"mass_g\": 1.0}], "
    "\"rings\": [{\"plane\": 0, \"holes\": ["
    "{\"radius_mm\": 165.0, \"angle\": {\"with_rotation_deg\": 0.0}, \"most_pieces\": 9}, "
    "{\"radius_mm\": 165.0, \"angle\": {\"with_rotation_deg\": 240.0}, \"mounted\": [1, 0], \"most_pieces\": 9}, "
    "{\"radius_mm\": 165.0, \"angle\": {\"with_rotation_deg\": 120.0}, \"most_pieces\": 9}]}], "
    "\"limits\": [{\"channel\": 0, \"purpose\": \"done\", \"amplitude\": 0.2, \"source\": \"the maker's manual\"}], "
    "\"checks\": [\"blade track\"]}, \"entries\": []}";

#endif
