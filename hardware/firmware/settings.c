/* What the rig is built like, kept in EEPROM: boot count, mark, layout, values, CRC-8. */
#include "board.h"

#include <avr/eeprom.h>
#include <string.h>

#define MARK 0x52
#define LAYOUT 1

struct row { char name[8]; uint32_t usual, least, most; };

/* The reasons for the numbers stand in PROTOCOL.md, "Settings". */
static const struct row rows[SETTINGS] PROGMEM = {
    [GEAR] = {"gear", 80000, 1000, 1000000},
    [TOP] = {"top", 8000, 100, 10000},
    [RAMP] = {"ramp", 20000, 1000, 200000},
    [CREEP] = {"creep", 1600, 50, 4000},
    [SPAN] = {"span", 40000, 1, 1000000},
    [LONGEST] = {"longest", 20000, 100, 120000},
    [SILENCE] = {"silence", 1000, 200, 5000},
    [TAIL] = {"tail", 200, 1, 10000},
    [OVERRUN] = {"overrun", 0, 0, 100000},
    [SLACK] = {"slack", 0, 0, 100000},
    [WARM] = {"warm", 5000, 0, 600000},
    [DARK] = {"dark", 900, 10, 7200},
    [FLIP] = {"flip", 0, 0, 7},
};

static struct kept { uint8_t mark, layout; uint32_t values[SETTINGS]; uint8_t check; } kept;
struct memory { struct kept kept; uint16_t boots; };
static struct memory EEMEM stored;
static uint16_t boot;
static uint8_t were_kept;

static uint8_t checked(void) { return crc8((const char *)&kept, sizeof kept - 1); }

static void use_the_usual(void)
{
    kept.mark = MARK;
    kept.layout = LAYOUT;
    for (uint8_t i = 0; i < SETTINGS; i++)
        kept.values[i] = pgm_read_dword(&rows[i].usual);
}

static uint8_t all_fit(void)
{
    for (uint8_t i = 0; i < SETTINGS; i++)
        if (!setting_fits(i, kept.values[i]))
            return 0;
    return 1;
}

void settings_begin(void)
{
    eeprom_read_block(&kept, &stored.kept, sizeof kept);
    were_kept = kept.mark == MARK && kept.layout == LAYOUT && kept.check == checked() && all_fit();
    if (!were_kept)
        use_the_usual();
    boot = eeprom_read_word(&stored.boots) + 1;
    eeprom_update_word(&stored.boots, boot);
}

uint32_t setting(uint8_t which) { return kept.values[which]; }

uint8_t setting_named(const char *name)
{
    uint8_t i = 0;
    while (i < SETTINGS && strcmp_P(name, rows[i].name))
        i++;
    return i;
}

uint8_t setting_fits(uint8_t which, int32_t value)
{
    return value >= (int32_t)pgm_read_dword(&rows[which].least) && value <= (int32_t)pgm_read_dword(&rows[which].most);
}

void setting_keep(uint8_t which, uint32_t value)
{
    kept.values[which] = value;
    kept.check = checked();
    eeprom_update_block(&kept, &stored.kept, sizeof kept);
    were_kept = 1;
}

uint8_t settings_kept(void) { return were_kept; }

uint16_t boot_count(void) { return boot; }
