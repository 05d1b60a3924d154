"""The check sum of 1-wire devices."""


def crc8(data, count):
    """CRC-8/MAXIM (x^8 + x^5 + x^4 + 1, reflected, from 0) of the first `count` bytes."""
    crc = 0
    for at in range(count):
        crc ^= data[at]
        for _ in range(8):
            crc = (crc >> 1) ^ 0x8C if crc & 1 else crc >> 1
    return crc
