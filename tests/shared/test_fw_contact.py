"""Contacts between passes, and the PWM outputs' one driver."""

from rigfw.drivers.contact import Contact
from rigfw.drivers.speed import Speed

try:
    from micropython import heap_lock, heap_unlock
except ImportError:

    def heap_lock():
        """CPython knows no lock."""

    def heap_unlock():
        """CPython knows no lock."""


class _Pin:
    """A level."""

    def __init__(self, level):
        self.level = level

    def value(self):
        """Read."""
        return self.level


def _passes(levels, on_level=0):
    """Levels of samples, a pass after each twelfth: what the passes took."""
    pin = _Pin(1 - on_level)
    contact = Contact(pin, on_level)
    contact.take()
    taken = []
    for number, level in enumerate(levels):
        pin.level = level
        contact.sample()
        if number % 12 == 11:
            taken.append(contact.take())
    return taken


def test_a_tap_between_two_passes_counts_once():
    """40 ms of 250, in the middle; pressed is low."""
    assert _passes([1] * 5 + [0] * 2 + [1] * 29) == [1, 0, 0]


def test_one_sample_alone_is_a_disturbance():
    """A spark of a relay in each pass."""
    assert _passes(([1] * 5 + [0] + [1] * 6) * 3) == [0, 0, 0]


def test_a_press_at_the_pass_itself_counts_at_once():
    """Its level is read in the pass, without waiting for a second sample."""
    assert _passes([1] * 11 + [0] + [1] * 12) == [1, 0]


def test_a_held_button_is_not_made_longer():
    """Down over two passes, let go after the last sample but one: the third pass reads up."""
    assert _passes([1] * 6 + [0] * 27 + [1] * 15) == [1, 1, 0, 0]


def test_what_is_down_at_the_start_was_not_tapped():
    """Held while the board booted, let go before the first pass."""
    pin = _Pin(0)
    contact = Contact(pin, 0)
    contact.sample()
    contact.sample()
    pin.level = 1
    contact.sample()
    assert contact.take() == 0


def test_an_open_stop_loop_reads_low_and_counts():
    """As short as 40 ms: opened is opened."""
    assert _passes([1] * 3 + [0] * 2 + [1] * 19, on_level=0) == [1, 0]


def test_a_contact_that_is_on_when_high():
    """The other way round."""
    assert _passes([0] * 3 + [1] * 2 + [0] * 19, on_level=1) == [1, 0]


def test_speed_goes_from_0_to_full_and_no_further():
    """Duty of 65535: 0, half, full; nonsense is the nearer end."""
    duties = []

    class Pwm:
        """Notes its duty."""

        def duty_u16(self, duty):
            """Drive."""
            duties.append(duty)

    speed = Speed(Pwm())
    for permille in (500, 1000, 1500, -5, 1):
        speed.set(permille)
    assert duties == [0, 32767, 65535, 65535, 0, 65]


def test_contacts_and_speeds_allocate_nothing():
    """What the write and read phases call, a thousand times under the heap's lock."""
    pin = _Pin(1)
    contact = Contact(pin, 0)

    class Still:
        """Takes any duty."""

        def duty_u16(self, duty):
            """Drive."""

    speed = Speed(Still())
    heap_lock()
    try:
        for number in range(1000):
            pin.level = number & 1
            contact.sample()
            contact.take()
            speed.set(number)
    finally:
        heap_unlock()
