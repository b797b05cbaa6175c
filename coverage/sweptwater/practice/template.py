"""The text of a `practice.toml`, each line of which explains itself."""

import json
from collections.abc import Iterator, Mapping, Sequence

from sweptwater.practice.settings import Settings
from sweptwater.practice.tackle import INCH_M
from sweptwater.units import ACRE_M2, FOOT_M, HECTARE_M2, KMH_M_S, MPH_M_S, YARD_M

_TEMPLATE = """\
# The settings of this practice. Change a number, save, run any command again: every
# figure and map is made afresh from the tracks. A line that is deleted goes back to
# its default. Lengths may end in _yd, _ft or _m.

name = {name}  # what the water is called
pairs = {pairs}  # the boats' names: letters, digits and hyphens
days = [{days}]  # of the practice, like 2027-06-08, 2027-06-09: the pairs change round
time_zone = "{zone}"  # days and hours are told in it
units = "{units}"  # on the screen and on paper: "imperial" or "metric"

[rods]  # who is in which boat: numbers or call signs, never people's names
{rods}
[spread]  # the water that two rods reach from the boat at one moment
shape = "{shape}"  # "fan": they cast downwind; "round": all round the boat
boat_{unit} = {boat}  # the boat's length; it lies across the wind
cast_{unit} = {cast}  # how far a cast reaches
half_angle_deg = {half}  # how far either side of downwind they cast
reach_{unit} = {reach}  # only for "round": how far from the boat's path

[banks]  # the shore, in numbered stretches
stretch_{unit} = {stretch}  # about this long
water_{unit} = {water}  # a bank's water goes from the stones to this far out
piece_{unit} = {piece}  # shore is done in pieces: when half the water before one is
boat_near_{unit} = {boat_near}  # along a bank a boat drifts from this far out
boat_far_{unit} = {boat_far}  # to this far out

[unfished]  # what of the water that nobody has fished is listed
at_least_{acres} = {at_least}  # smaller pieces are counted, but not listed
narrowest_{unit} = {narrowest}  # what is narrower between drifts is no place to go to

[boat]  # what a boat can do
reset_min = {reset}  # from the end of a drift to the start of the next; common practice
motoring_up_{speed} = {up}  # how fast against the wind
motoring_down_{speed} = {down}  # before the wind
drogue = "{boat_rules.drogue}"  # "in" or "out": how planned drifts are made

[day]  # a day afloat
leave = "{day.leave:%H:%M}"  # when the boats leave the jetty
afloat_h = {afloat}  # from there to being back, lunch and motoring included
lunch_min = {lunch}  # ashore or afloat, without fishing
spare_min = {spare}  # kept in hand at the end
most_wind_{speed} = {most_wind}  # in more wind nobody goes; the venue may say less
ring = {ring}  # the venue's number to ring in need

[plan]  # how drifts are laid; common practice
apart_{unit} = {apart}  # from drift to drift, side by side
margin_{unit} = {margin}  # inside the water, wherever a drift goes
keep_off_{unit} = {keep_off}  # from bank-anglers' strips and from what is out of bounds
longest_min = {longest}  # no drift is planned that takes longer,
shortest_{unit} = {shortest}  # nor one that is shorter
bank_counts = {plan.bank_counts:g}  # bank water counts so many times as open water

[tackle]  # at what depth flies fished: a line's rate, the time it sinks, the drift
layers_{deep} = {layers}  # depths between the layers that flies fish in
cast_{unit} = {deep_cast}  # how far rods cast where it is about depth
useful = {tackle.useful:g}  # so much of the depth where the boat is over it serves
doubt = {tackle.doubt:g}  # a printed sink rate is good to so large a share of itself
{lines}
[depth]  # how deep the water itself is
below_full_{deep} = {below_full}  # the level now, below the one that soundings are from
bands_{deep} = {bands}  # depths between the bands that water is told in

[search]  # how surely a drift searches, and for how long that holds; common practice
cycle_s = {search.cycle_s:g}  # from one cast of a rod to its next
working_s = {search.working_s:g}  # of that, its fly is worked for so long
shows_{unit} = {shows}  # a fish shows within a strip so wide along the fly's way
together = {search.together:g}  # so many fish lie together: one that shows tells of all
looks = {search.looks:g}  # drifts in different light or layers until water is searched
half_life_h = {half_life}  # what was learned counts half after so long
swing_deg = {search.swing_deg:g}  # a night's swing of the wind beyond this
swing_leaves = {search.swing_leaves:g}  # leaves so much of that time
cold_c = {search.cold_c:g}  # water that cools by more than this overnight
cold_leaves = {search.cold_leaves:g}  # leaves so much of it
other_light = {search.other_light:g}  # what a drift in another light counts for,
not_told = {search.not_told:g}  # and one of which nobody told what it met
bright_top = {search.bright_top:g}  # in bright light fish at the top are so likely
shore_counts = {search.shore_counts:g}  # times as likely by a bank as in the open
believe = {search.believe:g}  # so many offers move that half-way to what they say
stocked_within_{unit} = {stocked_within}  # what was learned so near a stocking is void,
stocked_counts = {search.stocked_counts:g}  # and fish there so many times as likely
confirm_min = {confirm}  # for so long a find is tried again,
confirm_share = {search.confirm_share:g}  # in at most this part of a boat's hours
least_min = {least}  # no boat is sent anywhere for less
pressed_fish = {search.pressed_fish:g}  # so many fish pricked, or
pressed_boats = {search.pressed_boats:g}  # so many other boats
boats_within_{unit} = {boats_within}  # so near, make a find pressed
rest_h = {rest}  # until it was left alone for so long

[hopes]  # what you know: a bank, mark or sector, and how many times as likely it is
{hopes}
[match]  # as the match's own rules have it
lines_down = "{match.lines_down:%H:%M}"  # when fishing begins
lines_up = "{match.lines_up:%H:%M}"  # and when it is over
lines_up_at = {lines_up_at}  # the mark where boats must be by then; "" is the jetty
boats = "{match.boats}"  # "drawn": six rods in six boats; "own": three boats of yours
apart_{unit} = {match_apart}  # to keep off other boats
keep_off_{unit} = {match_off}  # off buoys, bank-anglers and what is out of bounds
phones = {phones}  # whether the rules allow them
sounders = {sounders}  # or echo sounders,
anchoring = {anchoring}  # or fishing at anchor
most_on_bank = {match.most_on_bank}  # rods that start on one bank
bold = {match.bold}  # rods that start where less is known
spare_min = {match_spare}  # in hand on the way home
stay_min = {stay}  # without an offer, before a rod goes to its second choice
motoring_{speed} = {home}  # how fast boats go home
light_min = {light}  # so long sun or cloud lasts before rods change lines,
further_out_{unit} = {further}  # and in sun they drift so much further off the bank

[drifts]  # how a track is parted into drifts; common practice, seldom changed
gap_s = {r.gap_s:g}  # a longer silence parts the record
bridge_min = {bridge}  # a silence within a drift is bridged up to this, if it went on
slowest_cut_m_s = {r.slowest_cut_m_s:g}  # the speed that parts drifting from motoring
fastest_cut_m_s = {r.fastest_cut_m_s:g}  # is looked for between these two
usual_cut_m_s = {r.usual_cut_m_s:g}  # and is this on a day that shows none
least_fishing_s = {r.least_fishing_s:g}  # fishing that is shorter is not fishing
least_motoring_s = {r.least_motoring_s:g}  # motoring that is shorter is not motoring
course_speed_m_s = {r.course_speed_m_s:g}  # faster than this, for
course_least_s = {r.course_least_s:g}  # so long, and
course_off_deg = {r.course_off_deg:g}  # so far off the drifts' course is motoring,
course_around_min = {around}  # the course being that of the slow time so near
ashore_within_{unit} = {ashore_within}  # staying within this
ashore_least_min = {still}  # for so long, and
shore_{unit} = {shore}  # so near the shore
jetty_{unit} = {jetty}  # or a jetty, is ashore;
outside_{unit} = {outside}  # so is being this far outside the water
wander_m_s = {r.wander_m_s:g}  # how fast a receiver at rest seems to go, if unseen
"""


def toml_string(text: str) -> str:
    r"""Return a text as a TOML basic string, whatever is in it.

    Examples
    --------
    >>> print(toml_string('Ash "Lode"'), toml_string("a\x7fb"))
    "Ash \"Lode\"" "a\u007fb"
    """
    # JSON escapes all that TOML wants escaped, but for one control character.
    plain = text.encode("utf-8", "replace").decode("utf-8")
    return json.dumps(plain, ensure_ascii=False).replace("\x7f", "\\u007f")


def settings_text(settings: Settings) -> str:
    """Return the text of a `practice.toml` for a new practice.

    Lengths and areas are written to four figures.
    """
    yards = settings.units == "imperial"
    unit, acres = ("yd", "acres") if yards else ("m", "ha")
    per, per_area = (YARD_M, ACRE_M2) if yards else (1.0, HECTARE_M2)

    def length(length_m: float) -> str:
        return f"{length_m / per:.4g}"

    spread, banks, rules = settings.spread, settings.banks, settings.rules
    boat, day, plan = settings.boat, settings.day, settings.plan
    search, match = settings.search, settings.match
    tackle, deep = settings.tackle, "ft" if yards else "m"

    def depths(depths_m: Sequence[float]) -> str:
        per_deep = FOOT_M if yards else 1.0
        return f"[{', '.join(f'{depth_m / per_deep:.4g}' for depth_m in depths_m)}]"

    speed, per_speed = ("mph", MPH_M_S) if yards else ("kmh", KMH_M_S)
    return _TEMPLATE.format(
        name=toml_string(settings.name),
        pairs=json.dumps(list(settings.pairs)),
        days=", ".join(day.isoformat() for day in settings.days),
        rods=_rods_text(settings),
        zone=settings.time_zone,
        units=settings.units,
        unit=unit,
        shape=spread.shape,
        boat=length(spread.boat_m),
        cast=length(spread.cast_m),
        half=f"{spread.half_angle_deg:g}",
        reach=length(spread.reach_m),
        stretch=length(banks.stretch_m),
        water=length(banks.water_m),
        piece=length(banks.piece_m),
        acres=acres,
        at_least=f"{settings.unfished_m2 / per_area:.4g}",
        narrowest=length(settings.unfished_wide_m),
        boat_near=length(banks.boat_near_m),
        boat_far=length(banks.boat_far_m),
        reset=f"{boat.reset_s / 60:g}",
        boat_rules=boat,
        speed=speed,
        up=f"{boat.motoring_up_m_s / per_speed:.4g}",
        down=f"{boat.motoring_down_m_s / per_speed:.4g}",
        day=day,
        afloat=f"{day.afloat_s / 3600:.4g}",
        lunch=f"{day.lunch_s / 60:g}",
        spare=f"{day.spare_s / 60:g}",
        most_wind=f"{day.most_wind_m_s / per_speed:.4g}",
        ring=toml_string(day.ring),
        plan=plan,
        apart=length(plan.apart_m),
        margin=length(plan.margin_m),
        keep_off=length(plan.keep_off_m),
        longest=f"{plan.longest_s / 60:g}",
        shortest=length(plan.shortest_m),
        deep=deep,
        tackle=tackle,
        layers=depths(tackle.layers_m),
        deep_cast=length(tackle.cast_m),
        lines=_lines_text(settings),
        below_full=depths([settings.depth.below_full_m])[1:-1],
        bands=depths(settings.depth.bands_m),
        search=search,
        shows=length(search.shows_m),
        half_life=f"{search.half_life_s / 3600:g}",
        stocked_within=length(search.stocked_within_m),
        confirm=f"{search.confirm_s / 60:g}",
        least=f"{search.least_s / 60:g}",
        boats_within=length(search.boats_within_m),
        rest=f"{search.rest_s / 3600:g}",
        hopes=_hopes_text(search.hopes),
        match=match,
        lines_up_at=toml_string(match.lines_up_at),
        match_apart=length(match.apart_m),
        match_off=length(match.keep_off_m),
        phones=json.dumps(match.phones),
        sounders=json.dumps(match.sounders),
        anchoring=json.dumps(match.anchoring),
        match_spare=f"{match.spare_s / 60:g}",
        stay=f"{match.stay_s / 60:g}",
        home=f"{match.motoring_m_s / per_speed:.4g}",
        light=f"{match.light_s / 60:g}",
        further=length(match.further_out_m),
        r=rules,
        bridge=f"{rules.bridge_s / 60:g}",
        around=f"{rules.course_around_s / 60:g}",
        still=f"{rules.ashore_least_s / 60:g}",
        ashore_within=length(rules.ashore_within_m),
        shore=length(rules.shore_m),
        jetty=length(rules.jetty_m),
        outside=length(rules.outside_m),
    )


def _rods_text(settings: Settings) -> str:
    """Return the lines that say who is in which boat; remarks, where nobody knows."""
    crews, pairs = settings.crews, settings.pairs
    lines = []
    for first, pair in enumerate(pairs):
        made_up = (str(2 * first + 1), str(2 * first + 2))
        known = pair in crews.usual
        line = _rods_line(pair, crews.usual.get(pair, made_up))
        lines.append(line if known else f"# {line}")
    lines[0] += "  # a line a pair; else two rods, bow and stern"
    lines += [
        "# What a boat sweeps is reckoned for two rods, with one aboard too.",
        "# What was otherwise on one day goes below a heading with that day:",
        *(_days_lines(settings) if crews.by_day else _days_remarks(pairs)),
    ]
    return "\n".join(lines) + "\n"


def _hopes_text(hopes: Mapping[str, float]) -> str:
    """Return the lines that say what the captain knows of places."""
    told = [f"{toml_string(name)} = {times:g}\n" for name, times in hopes.items()]
    return "".join(told) or '# "the dam" = 2  # twice as likely as it would be\n'


def _lines_text(settings: Settings) -> str:
    """Return the lines that say how fast each fly line sinks."""
    yards = settings.units == "imperial"
    far_m, far = (10 * FOOT_M, "10 ft") if yards else (3.0, "3 m")
    told = ["[tackle.lines]  # inches a second, as the spool says; common practice"]
    for line in settings.tackle.lines:
        rate = f"{line.sink_m_s / INCH_M:.4g}"
        sinks = "stays on top of the water"
        if line.sink_m_s:
            sinks = f"sinks {far} in about {far_m / line.sink_m_s:.0f} s"
        told.append(f"{toml_string(line.name)} = {rate}  # {sinks}")
    return "\n".join(told) + "\n"


def _days_lines(settings: Settings) -> Iterator[str]:
    for day, boats in settings.crews.by_day.items():
        yield f"[rods.{day.isoformat()}]"
        for pair, rods in boats.items():
            ashore = "" if rods else "  # stayed ashore: nobody misses its track"
            yield f"{_rods_line(pair, rods)}{ashore}"


def _days_remarks(pairs: Sequence[str]) -> Iterator[str]:
    yield "# [rods.2027-06-09]"
    if len(pairs) > 1:
        yield f"# {_rods_line(pairs[0], ('1', '5'))}  # these two were in its boat"
    yield f"# {_rods_line(pairs[-1], ())}  # stayed ashore: nobody misses its track"


def _rods_line(pair: str, rods: Sequence[str]) -> str:
    return f"{pair} = {json.dumps(list(rods))}"
