"""What to do after each stop, in the order of `rigwire.views.STOPS`.

SAFETY.md has the same words; a test compares them.
"""

REMEDIES = (
    "Nothing.",
    "Look at the probe's plug and cable. Dry the plug. If it comes back, wiggle the cable "
    "while you watch the reading; change the probe if the reading drops out.",
    "Compare with a hand thermometer. 0 or 85 degrees point to the cable or the plug; other "
    "figures to a broken probe. Do not go on with a probe you doubt.",
    "Is the probe in the chocolate, and held? Did someone add or lift something without "
    "telling the rig? Use the pedal or the button for that. Otherwise change the probe.",
    "Switch off at the supply if it still climbs: a switch may be shorted. If it falls, "
    "stir, let it cool; the temper is likely lost: melt again and start a new batch.",
    "Switch off at the supply if it still climbs. Is the bowl empty, lifted or badly "
    "seated? Does the stirrer turn? Scrape the wall and look for scorched chocolate.",
    "Is the probe in the bowl? Has the cut-out opened? Let it cool and find out why before "
    "you reset it. Measure the fuse and the heater with the supply off.",
    "Make safe whatever made you press. Turn the button free, close the lid. If nobody "
    "pressed, look for a broken wire in the loop.",
    "Heat is off, the stirrer turns. Look at the chocolate, then press: the heat comes "
    "back. Stay with the rig.",
    "Switch off and on. Keep the host's console text and report it as below. If it comes "
    "again, do not use the rig.",
    "As for code 1, at the plate: look at its clip, cable and plug.",
    "The rig is locked. Write its configuration again and repeat the commissioning sheet. "
    "If it comes again, the board's memory is failing: change the board.",
    "Switch off at the supply, now. The switch of the heater is shorted: change it, and "
    "prove the relay in series by hand before the next batch.",
    "Switch off at the supply if it still climbs: a switch may be shorted. If not: was "
    "something warm added, does the stirrer turn, does the bowl sit on its plate?",
    "Pull the plug. The relay has welded: change it, and find out what made it weld, before "
    "the next batch.",
    "The batch goes on. Does the fan turn, is its way free of cloth and dust? Cool by "
    "moving the bowl to a cold place, if you know how; else let it cool by itself.",
    "The batch goes on. Switch off and on before the next one; if it comes again, change "
    "the board.",
    "Switch off and on. Keep the host's console text and report it as below.",
    "Switch off and on. Is a probe's cable loose, or the computer's port stuck? Keep the "
    "console text and report it as below.",
    "The rig is locked. Switch off and on once the button moves freely; change it if it "
    "sticks again, or if its wires touch.",
    "The rig is locked, and its display names the probe's number. It may be the one that "
    "should be in the chocolate: unplug it, or list it (`snapgloss deploy --scan`), then "
    "switch off and on.",
    "The rig is locked. Use the board of the guide: on another the pins do other things.",
)
