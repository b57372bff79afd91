"""SQL of the ways through the cabling: clauses that find, trace and impact put together.

A link is at the rear of a port and a cord at its front; through passive hardware the way goes on
from the one to the other, and at active hardware it ends. Each clause is text for a WITH RECURSIVE.
"""

from __future__ import annotations

from binder.records.kinds.hardware import PASSIVE

_PASSIVE_FORMS = ", ".join(f"'{form}'" for form in PASSIVE)
_TOWARD_CARRIER = {
    "carrier equipment": 4,
    "gateway": 3,
    "switch": 2,
    "modem": 1,
    "media converter": 1,
    "PoE injector": 1,
    "access point": 1,
}
_NETWORK_FORMS = ", ".join(f"'{form}'" for form in _TOWARD_CARRIER)


def network_rank(form: str, leads_on: int = 0) -> int:
    """How near the carrier hardware of that kind is by its nature: 0 for end devices, unless
    they lead on as a phone with a second port does."""
    return _TOWARD_CARRIER.get(form, 0) or leads_on


def is_passive(port: str) -> str:
    """SQL: whether the port of that id is on hardware that cable passes through."""
    return (
        f"EXISTS (SELECT 1 FROM port q JOIN hardware g ON g.id = q.hardware_id "
        f"WHERE q.id = {port} AND g.form IN ({_PASSIVE_FORMS}))"
    )


# Every port reached from each port of `start (id)` along its link ('rear') and its cord
# ('front'); step 0 is the port itself, `port_id` is NULL behind a link whose end is not recorded.
# It ends: a port has one link and one cord, so that a way can only come back to where it began,
# and is not followed from there; in a damaged file it ends all the same.
_MOST_STEPS = 500


def _next_step(along: str, came: str, way: str) -> str:
    return f"""
  SELECT w.start, CASE w.step WHEN 0 THEN '{way}' ELSE w.way END, w.step + 1, w.port_id,
         '{along}', e.{along}_id, e.far_port_id
  FROM walk w JOIN {along}_end e ON e.port_id = w.port_id
  WHERE w.step = 0 OR (w.along = '{came}' AND w.port_id <> w.start AND w.step < {_MOST_STEPS}
                       AND {is_passive("w.port_id")})"""


WALK = f"""walk (start, way, step, from_id, along, cable_id, port_id) AS (
  SELECT id, '', 0, NULL, '', NULL, id FROM start
  UNION ALL{_next_step("link", "cord", "rear")}
  UNION ALL{_next_step("cord", "link", "front")}
)"""


# Every step from the ports of `start (id)` and the hardware of `device (id)` on: along the
# cabling both ways, into the hardware there, out of its ports toward a carrier, and so on. Along
# 'start' is a port asked about, along '' a port left by toward a carrier, else a cable followed.
# It ends: UNION keeps each step once.
#
# Ports toward a carrier are those marked so; on the carrier's own equipment every port that does
# not face the client, though an unmarked one counts only as far as other carrier equipment.
_TOWARD = """u.status <> 'removed' AND CASE h.form
    WHEN 'carrier equipment' THEN u.role <> 'hand-off' ELSE u.role IN ('uplink', 'hand-off') END"""
_AMONG_CARRIERS = "h.form = 'carrier equipment' AND u.role = 'edge'"


def _next_cable(along: str, came: str) -> str:
    return f"""
  SELECT '{along}', e.{along}_id, c.port_id, e.far_port_id, c.among_carriers
  FROM route c JOIN {along}_end e ON e.port_id = c.port_id
  WHERE c.along IN ('', 'start') OR (c.along = '{came}' AND {is_passive("c.port_id")})"""


ROUTE = f"""route (along, cable_id, from_id, port_id, among_carriers) AS (
  SELECT 'start', NULL, NULL, id, 0 FROM start
  UNION
  SELECT '', NULL, NULL, u.id, {_AMONG_CARRIERS}
  FROM device d CROSS JOIN hardware h ON h.id = d.id CROSS JOIN port u ON u.hardware_id = h.id
  WHERE {_TOWARD}
  UNION{_next_cable("link", "cord")}
  UNION{_next_cable("cord", "link")}
  UNION
  SELECT '', NULL, NULL, u.id, {_AMONG_CARRIERS}
  FROM route c CROSS JOIN port p ON p.id = c.port_id CROSS JOIN hardware h ON h.id = p.hardware_id
  CROSS JOIN port u ON u.hardware_id = h.id
  WHERE c.along <> '' AND u.id <> p.id AND h.form NOT IN ({_PASSIVE_FORMS}) AND {_TOWARD}
    AND (NOT c.among_carriers OR h.form = 'carrier equipment')
)"""


# The columns of a port on the way and of the cable that led there, in the order of the fields of
# `binder.channel.Hop` and `Cable`; rows of `w` have along, cable_id, from_id and port_id. Then a
# link's last test, the worst of its day, as '2026-02-02 1 pass' (the greatest text of a group
# needs no sorting), and whether an end device leads on by another port.
DETAIL = f"""w.along, w.cable_id, w.from_id, w.port_id, r.name,
  p.role, coalesce(p.connector, ''), p.vlan, coalesce(p.tagged_vlans, ''),
  coalesce(p.poe_type, ''), p.rate_mbps, coalesce(p.current_use, ''),
  coalesce(p.condition, ''), coalesce(p.condition_reason, ''), p.status,
  h.id, n.name, h.form, h.status, coalesce(h.category, ''), coalesce(rk.name, ''), h.u_position,
  coalesce(rs.name, ''), coalesce(s.name, ''), h.shielded,
  x.name, coalesce(l.cable, c.cable, '4-pair'), coalesce(l.length_m, c.length_m),
  coalesce(l.category, c.category, ''), coalesce(l.gauge_awg, c.gauge_awg),
  coalesce(l.termination, ''), coalesce(l.status, c.status), coalesce(l.shielded, c.shielded),
  (SELECT max(t.tested_on || CASE t.result WHEN 'fail' THEN ' 3 ' WHEN 'marginal' THEN ' 2 '
                             ELSE ' 1 ' END || t.result)
   FROM test t WHERE t.link_id = l.id AND t.status = 'current'
     AND NOT EXISTS (SELECT 1 FROM test f WHERE f.follows_id = t.id)),
  EXISTS (SELECT 1 FROM port o WHERE h.form NOT IN ({_NETWORK_FORMS}) AND o.hardware_id = h.id
          AND o.id <> p.id AND o.role = 'uplink')"""

DETAIL_JOINS = """
LEFT JOIN port p ON p.id = w.port_id LEFT JOIN record r ON r.id = p.id
LEFT JOIN hardware h ON h.id = p.hardware_id LEFT JOIN record n ON n.id = h.id
LEFT JOIN rack k ON k.id = h.rack_id LEFT JOIN record rk ON rk.id = k.id
LEFT JOIN space s ON s.id = coalesce(k.space_id, h.space_id) LEFT JOIN record rs ON rs.id = s.id
LEFT JOIN link l ON w.along = 'link' AND l.id = w.cable_id
LEFT JOIN cord c ON w.along = 'cord' AND c.id = w.cable_id
LEFT JOIN record x ON x.id = w.cable_id"""

# Parameters are JSON lists, so that the text of a statement stays the same.
ROUTES = f"""WITH RECURSIVE start (id) AS (SELECT value FROM json_each(:ports)),
device (id) AS (SELECT value FROM json_each(:devices)), {ROUTE}
SELECT {DETAIL}, w.among_carriers FROM route w{DETAIL_JOINS}"""

# The active ports at the ends of the way of each port of `start`, and the port itself at step 0.
ENDS = f"""WITH RECURSIVE start (id) AS (SELECT value FROM json_each(:ports)), {WALK}
SELECT w.start, w.step, r.name, p.vlan, coalesce(p.poe_type, 'none'), h.form
FROM walk w CROSS JOIN port p ON p.id = w.port_id CROSS JOIN hardware h ON h.id = p.hardware_id
CROSS JOIN record r ON r.id = p.id
WHERE w.step = 0 OR (h.form NOT IN ({_PASSIVE_FORMS}) AND w.port_id <> w.start)"""
