/* UART0 at 57600 baud, 8N1, both ways through rings. An ESC from the host stops everything here, in the interrupt. */
#include "board.h"

#include <avr/interrupt.h>
#include <util/atomic.h>

/* 57600 and not 115200: the divisor is off by 0.8 % instead of 2.1 % at 16 MHz; the data sheet asks for 1.5 % or less. */
#define DIVISOR 34
#define ESC 0x1B
#define DAMAGED '\xFF' /* stands for a byte with a framing or overrun error; spoils the line it is in */

enum { IN_SIZE = 128 }; /* a power of two; more than one whole line */

static volatile char in[IN_SIZE], out[256];
static volatile uint8_t in_head, in_tail, out_head, out_tail;

void serial_begin(void)
{
    UCSR0A = _BV(U2X0); /* before the divisor: emulators work the rate out when that is written */
    UBRR0 = DIVISOR;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
}

uint8_t serial_room(void) { return (uint8_t)(out_tail - out_head - 1); }

void serial_write(const char *bytes, uint8_t count)
{
    uint8_t head = out_head;
    while (count--)
        out[head++] = *bytes++;
    out_head = head;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { UCSR0B |= _BV(UDRIE0); }
}

uint8_t serial_waiting(void) { return in_head != in_tail; }

int16_t serial_read(void)
{
    uint8_t tail = in_tail;
    if (tail == in_head)
        return -1;
    char byte = in[tail];
    in_tail = (tail + 1) & (IN_SIZE - 1);
    return (uint8_t)byte;
}

ISR(USART_RX_vect)
{
    uint8_t flaws = UCSR0A & (_BV(FE0) | _BV(DOR0));
    char byte = UDR0;
    if (flaws)
        byte = DAMAGED;
    else if (byte == ESC)
        stop_now(BY_HOST);
    uint8_t next = (in_head + 1) & (IN_SIZE - 1);
    if (next != in_tail) { /* a full ring loses bytes, and the line's check tells */
        in[in_head] = byte;
        in_head = next;
    }
}

ISR(USART_UDRE_vect)
{
    if (out_tail == out_head)
        UCSR0B &= ~_BV(UDRIE0);
    else
        UDR0 = out[out_tail++];
}
