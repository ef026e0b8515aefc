"""Compiled inner loops of the search: weigh places, find a better one, remove overlaps.

All arrays are plain and flat. Rows:
    places    per item: x, y of its reference point, then its box x0, y0, x1, y1
    frames    per region: box x0, y0, x1, y1, then cells per unit of x and of y
    heads     per region: first edge, edges, first cell (-1: convex), cells a side
    edges     x, y, dx, dy, 1/length^2, end x, end y; of convex regions nx, ny, c: n.p <= c inside
    pairs     per two stances: 1 + region, negative when the region is that of the swapped pair
    boxes     per stance: box around the reference point
    items     per item: first stance, number of stances, first room, number of rooms
    rooms     per room (a sheet's inside): x0, y0, x1, y1
    buckets   items by place, a row each: count, then items; and a spare row
    grid      of the buckets: x0, y0, buckets per unit of x and y, columns, rows, half largest box

A call that passes arrays pays locked counter updates for each, so the hot
loop of `_replace` calls nothing that takes arrays.
"""

# One argument a line would make this file half as long again.
# fmt: off
from __future__ import annotations

import math

import numpy as np
from numba import njit

WEIGHT_DECAY = 0.95
NO_BOUND = 1e300


@njit(cache=True, nogil=True, error_model="numpy")
def _next(state):
    """The next state of xorshift64."""
    state ^= state << np.uint64(13)
    state ^= state >> np.uint64(7)
    state ^= state << np.uint64(17)
    return state


@njit(cache=True, nogil=True, error_model="numpy")
def _unit(state):
    """A state as a number in [0, 1)."""
    return ((state * np.uint64(2685821657736338717)) >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@njit(cache=True, nogil=True, error_model="numpy")
def pair_depth(a, ax, ay, b, bx, by, pairs, frames, heads, edges, cells):
    """How deep two items in given stances overlap; the slow twin of the loop in `_replace`.

    It looks at all edges of the region: nearest edge, and crossings of a ray.
    """
    if pairs[a, b] == 0:
        return 0.0
    sign = 1.0 if pairs[a, b] > 0 else -1.0
    region, x, y = abs(pairs[a, b]) - 1, sign * (bx - ax), sign * (by - ay)
    start, least = heads[region, 0], NO_BOUND
    if heads[region, 2] < 0:
        for e in range(start, start + heads[region, 1]):
            least = min(least, edges[e, 2] - edges[e, 0] * x - edges[e, 1] * y)
        return max(0.0, least)
    inside = False
    for e in range(start, start + heads[region, 1]):
        dx, dy = edges[e, 2], edges[e, 3]
        px, py = x - edges[e, 0], y - edges[e, 1]
        t = min(1.0, max(0.0, (px * dx + py * dy) * edges[e, 4]))
        qx, qy = px - t * dx, py - t * dy
        least = min(least, qx * qx + qy * qy)
        if (edges[e, 1] > y) != (edges[e, 6] > y) and (dx * py - dy * px > 0.0) == (dy > 0.0):
            inside = not inside
    return math.sqrt(least) if inside else 0.0


@njit(cache=True, nogil=True, error_model="numpy")
def _set(i, v, x, y, places, stance, grid, boxes):
    """Write where item i lies; returns its bucket."""
    stance[i] = v
    places[i, 0], places[i, 1] = x, y
    places[i, 2], places[i, 3] = x + boxes[v, 0], y + boxes[v, 1]
    places[i, 4], places[i, 5] = x + boxes[v, 2], y + boxes[v, 3]
    c = min(grid[4] - 1.0, max(0.0, (0.5 * (places[i, 2] + places[i, 4]) - grid[0]) * grid[2]))
    r = min(grid[5] - 1.0, max(0.0, (0.5 * (places[i, 3] + places[i, 5]) - grid[1]) * grid[3]))
    return int(r) * int(grid[4]) + int(c)


@njit(cache=True, nogil=True, error_model="numpy")
def put(i, v, x, y, places, stance, buckets, grid, boxes):
    """Lay item i at x, y in stance v, and keep the buckets."""
    old = _set(i, stance[i], places[i, 0], places[i, 1], places, stance, grid, boxes)
    new = _set(i, v, x, y, places, stance, grid, boxes)
    if new != old:
        n = buckets[old, 0]
        for k in range(1, n + 1):
            if buckets[old, k] == i:
                buckets[old, k] = buckets[old, n]
                break
        buckets[old, 0] = n - 1
        buckets[new, 0] += 1
        buckets[new, buckets[new, 0]] = i


@njit(cache=True, nogil=True, error_model="numpy")
def fill_buckets(places, stance, buckets, grid, boxes):
    """Set all items' boxes from their places, and the buckets from scratch."""
    buckets[:, 0] = 0
    for i in range(places.shape[0]):
        b = _set(i, stance[i], places[i, 0], places[i, 1], places, stance, grid, boxes)
        buckets[b, 0] += 1
        buckets[b, buckets[b, 0]] = i


@njit(cache=True, nogil=True, error_model="numpy")
def overlaps(
    tolerance, which, count, notes, passes, found, depths, places, stance, pairs, frames, heads,
    edges, cells,
):
    """All pairs with one of which[:count], noted in this pass, that overlap deeper than that."""
    k = 0
    for n in range(count):
        i = which[n]
        x0, y0, x1, y1 = places[i, 2], places[i, 3], places[i, 4], places[i, 5]
        for j in range(places.shape[0]):
            if places[j, 2] < x1 and places[j, 4] > x0 and places[j, 3] < y1 and places[j, 5] > y0:
                if j == i or (j < i and notes[j, 1] == passes):
                    continue
                d = pair_depth(
                    stance[i], places[i, 0], places[i, 1], stance[j], places[j, 0], places[j, 1],
                    pairs, frames, heads, edges, cells,
                )
                if d > tolerance and k < found.shape[0]:
                    found[k, 0], found[k, 1], depths[k] = i, j, d
                    k += 1
    return k


@njit(cache=True, nogil=True, error_model="numpy")
def _replace(
    i, sizes, tuning, reached, best, rng, items, rooms, places, stance, weights, scales, buckets,
    grid, pairs, frames, heads, edges, cells, boxes,
):
    """Find item i the place of least weighted overlap; returns the number of places weighed.

    Samples near its place and anywhere; the best few are refined by
    coordinate descent; the item moves if the winner is better than where it lies.
    Rows of `best`: x, y, weight, stance, room; sorted by weight.
    """
    state = rng[0]
    near, anywhere, spread = int(tuning[0]), int(tuning[1]), tuning[2]
    size = sizes[i]
    finest = max(tuning[3] * size, reached)
    first_stance, stances = items[i, 0], items[i, 1]
    first_room, room_count = items[i, 2], items[i, 3]
    gx, gy, per_x, per_y, half_x, half_y = grid[0], grid[1], grid[2], grid[3], grid[6], grid[7]
    columns, rows = int(grid[4]), int(grid[5])
    kept, best[:, 2] = best.shape[0], NO_BOUND
    home = room = first_room
    for r in range(first_room, first_room + room_count):
        if rooms[r, 0] <= places[i, 0] <= rooms[r, 2]:
            home = room = r
    x, y, v = places[i, 0], places[i, 1], stance[i]
    here = bound = NO_BOUND
    left = bottom = right = top = lx = ly = reach = 0.0
    ux = uy = step = least_step = cost = bx = by = 0.0
    nearby = buckets.shape[0] - 1
    second = False
    sample, refining, winner = 0, -1, -1
    last_sample = near + anywhere
    weighed = 0
    while True:
        # ---- weigh item i at x, y in stance v
        weighed += 1
        x0, y0, x1, y1 = x + boxes[v, 0], y + boxes[v, 1], x + boxes[v, 2], y + boxes[v, 3]
        total = 0.0
        if refining >= 0 and abs(x - lx) <= reach and abs(y - ly) <= reach:
            c0, c1, b0, b1 = 0, 0, nearby, nearby + 1
        else:
            c0 = max(0, int((x0 - half_x - gx) * per_x))
            c1 = min(columns - 1, int((x1 + half_x - gx) * per_x))
            b0 = columns * max(0, int((y0 - half_y - gy) * per_y))
            b1 = columns * (1 + min(rows - 1, int((y1 + half_y - gy) * per_y)))
        for b in range(b0, b1, columns):
            for c in range(b + c0, b + c1 + 1):
                for n in range(1, buckets[c, 0] + 1):
                    j = buckets[c, n]
                    if j == i or places[j, 2] >= x1 or places[j, 4] <= x0:
                        continue
                    region = pairs[v, stance[j]]
                    if region == 0 or places[j, 3] >= y1 or places[j, 5] <= y0:
                        continue
                    px, py = places[j, 0] - x, places[j, 1] - y
                    if region < 0:
                        region, px, py = -region, -px, -py
                    region -= 1
                    start, corner = heads[region, 0], heads[region, 2]
                    depth, least = 0.0, NO_BOUND
                    if corner < 0:
                        for e in range(start, start + heads[region, 1]):
                            d = edges[e, 2] - edges[e, 0] * px - edges[e, 1] * py
                            if d < least:
                                least = d
                                if d <= 0.0:
                                    break
                        depth = max(0.0, least)
                    else:
                        side = heads[region, 3]
                        fx, fy = px - frames[region, 0], py - frames[region, 1]
                        column = int(fx * frames[region, 4])
                        row = int(fy * frames[region, 5])
                        if fx < 0.0 or fy < 0.0 or column >= side or row >= side:
                            continue
                        head = cells[corner + row * side + column]
                        if head == 0:
                            continue
                        k = corner + (head >> 2)
                        flag = head & 3
                        inside = flag != 2
                        cx = frames[region, 0] + (column + 0.5317) / frames[region, 4]
                        cy = frames[region, 1] + (row + 0.4739) / frames[region, 5]
                        for m in range(k + 1, k + 1 + cells[k]):
                            e = start + cells[m]
                            ex, ey = edges[e, 0], edges[e, 1]
                            dx, dy = edges[e, 2], edges[e, 3]
                            qx, qy = px - ex, py - ey
                            t = min(1.0, max(0.0, (qx * dx + qy * dy) * edges[e, 4]))
                            sx, sy = qx - t * dx, qy - t * dy
                            least = min(least, sx * sx + sy * sy)
                            if flag != 1:
                                # Does the edge part the point from the cell's centre?
                                wx, wy = px - cx, py - cy
                                one = wx * (ey - cy) - wy * (ex - cx) > 0.0
                                two = wx * (edges[e, 6] - cy) - wy * (edges[e, 5] - cx) > 0.0
                                if one != two and (dx * qy - dy * qx > 0.0) != (
                                    dx * (cy - ey) - dy * (cx - ex) > 0.0
                                ):
                                    inside = not inside
                        if inside:
                            depth = math.sqrt(least)
                    if depth > 0.0:
                        total += depth * weights[i, j] * scales[i] * scales[j]
                        if total > bound:
                            break
                if total > bound:
                    break
            if total > bound:
                break
        # ---- take note of it
        if refining < 0:
            here = total if sample == 0 else here
            if here <= 0.0:
                break
            if total < best[kept - 1, 2]:
                # Distant starts only: a sample near a kept one replaces it or goes.
                slot = kept - 1
                for k in range(kept):
                    apart = abs(best[k, 0] - x) + abs(best[k, 1] - y)
                    if best[k, 2] < NO_BOUND and best[k, 3] == v and apart < 0.1 * size:
                        slot = k if total < best[k, 2] else -1
                        break
                if slot >= 0:
                    while slot > 0 and best[slot - 1, 2] > total:
                        for m in range(5):
                            best[slot, m] = best[slot - 1, m]
                        slot -= 1
                    best[slot, 0], best[slot, 1], best[slot, 2] = x, y, total
                    best[slot, 3], best[slot, 4] = v, room
            sample += 1
        elif total < cost:
            bx, by, cost = x, y, total
            step *= 1.1
            second = False
        else:
            step *= 0.5 if second else 1.0
            second = not second
        # ---- the next place: a sample, or a step of a descent
        while refining < 0 and sample <= last_sample:
            v, room = stance[i], home
            state = _next(state)
            if stances > 1 and (sample > near or _unit(state) < 0.5):
                state = _next(state)
                v = first_stance + min(stances - 1, int(_unit(state) * stances))
            if sample > near and room_count > 1:
                state = _next(state)
                room = first_room + min(room_count - 1, int(_unit(state) * room_count))
            left, bottom = rooms[room, 0] - boxes[v, 0], rooms[room, 1] - boxes[v, 1]
            right, top = rooms[room, 2] - boxes[v, 2], rooms[room, 3] - boxes[v, 3]
            if right < left or top < bottom:
                sample += 1
                continue
            state = _next(state)
            x = _unit(state)
            state = _next(state)
            y = _unit(state)
            if sample > near:
                x, y = left + x * (right - left), bottom + y * (top - bottom)
            else:
                state = _next(state)
                x = places[i, 0] + (x + _unit(state) - 1.0) * size * spread
                state = _next(state)
                y = places[i, 1] + (y + _unit(state) - 1.0) * size * spread
                x, y = min(right, max(left, x)), min(top, max(bottom, y))
            bound = best[kept - 1, 2]
            break
        if refining < 0 and sample <= last_sample:
            continue
        if refining < 0 or step <= least_step or cost <= 0.0:
            # A descent ends: note it, begin the next one, or at last the finest one.
            if refining == kept:
                break
            if refining >= 0:
                best[refining, 0], best[refining, 1], best[refining, 2] = bx, by, cost
                if winner < 0 or cost < best[winner, 2]:
                    winner = refining
            refining += 1
            while refining < kept and best[refining, 2] >= NO_BOUND:
                refining += 1
            if cost <= 0.0 and winner >= 0:
                break
            start_from = refining if refining < kept else winner
            if start_from < 0:
                break
            bx, by, cost = best[start_from, 0], best[start_from, 1], best[start_from, 2]
            v, room = int(best[start_from, 3]), int(best[start_from, 4])
            step, least_step = 0.05 * size, 0.001 * size
            if refining >= kept:
                refining = kept
                step, least_step = 0.001 * size, min(finest, 0.0005 * size)
            second = False
            left, bottom = rooms[room, 0] - boxes[v, 0], rooms[room, 1] - boxes[v, 1]
            right, top = rooms[room, 2] - boxes[v, 2], rooms[room, 3] - boxes[v, 3]
            if cost <= 0.0:
                winner = start_from
                break
            # Who may be met on the way: listed once, in the spare last bucket.
            lx, ly, reach = bx, by, 4.0 * step
            x0, y0 = bx + boxes[v, 0] - reach, by + boxes[v, 1] - reach
            x1, y1 = bx + boxes[v, 2] + reach, by + boxes[v, 3] + reach
            c0 = max(0, int((x0 - half_x - gx) * per_x))
            c1 = min(columns - 1, int((x1 + half_x - gx) * per_x))
            b0 = columns * max(0, int((y0 - half_y - gy) * per_y))
            b1 = columns * (1 + min(rows - 1, int((y1 + half_y - gy) * per_y)))
            count = 0
            for b in range(b0, b1, columns):
                for c in range(b + c0, b + c1 + 1):
                    for n in range(1, buckets[c, 0] + 1):
                        j = buckets[c, n]
                        if places[j, 2] < x1 and places[j, 4] > x0 and j != i:
                            if places[j, 3] < y1 and places[j, 5] > y0:
                                count += 1
                                buckets[nearby, count] = j
            buckets[nearby, 0] = count
        ux, uy = -ux, -uy
        if not second:
            state = _next(state)
            kind = _unit(state)
            ux = step if kind < 0.3 else (0.0 if kind < 0.6 else 0.7071 * step)
            uy = 0.0 if kind < 0.3 else (step if kind < 0.6 else 0.7071 * step)
            if kind >= 0.8:
                uy = -uy
        x, y = min(right, max(left, bx + ux)), min(top, max(bottom, by + uy))
        bound = cost
    rng[0] = state
    if here > 0.0 and winner >= 0 and cost < here:
        put(i, int(best[winner, 3]), bx, by, places, stance, buckets, grid, boxes)
    return weighed


@njit(cache=True, nogil=True, error_model="numpy")
def separate(
    quota, tolerance, patience, tuning, progress, totals, order, found, depths, best, rng,
    best_places, best_stance, sizes, items, movable, rooms, places, stance, weights, notes,
    scales, buckets, grid, pairs, frames, heads, edges, cells, boxes,
):
    """Move overlapping items until none overlaps, patience ends, or the quota is used.

    Args:
        quota: places to weigh before returning.
        progress: where it stands, kept between calls: next in order, length of order,
            places weighed, passes, passes without progress.
        totals: least total overlap so far, and the one that counts as progress.
        notes: per item: whether it has weights above one, and the latest pass it was moved in.

    Returns:
        0 quota used, 1 no overlaps, 2 out of patience.
    """
    weighed = 0
    while True:
        if progress[0] >= progress[1]:
            if progress[1] == 0:
                progress[1] = movable
                for i in range(movable):
                    order[i], notes[i, 1] = i, progress[3]
            # All others lie where they did, so only these can overlap.
            k = overlaps(
                tolerance, order, progress[1], notes, progress[3], found, depths, places, stance,
                pairs, frames, heads, edges, cells,
            )
            total, largest, reached = 0.0, 0.0, NO_BOUND
            for n in range(k):
                reached = min(reached, tuning[7] * depths[n])
                depths[n] *= scales[found[n, 0]] * scales[found[n, 1]]
                total += depths[n]
                largest = max(largest, depths[n])
            if total < totals[0]:
                totals[0] = total
                best_places[:] = places
                best_stance[:] = stance
            progress[4] += 1
            if total < tuning[6] * totals[1]:
                totals[1] = total
                progress[4] = 0
            if k == 0 or progress[4] >= patience:
                progress[2] += weighed
                progress[0] = progress[1] = 0
                return 1 if k == 0 else 2
            progress[3] += 1
            for i in np.flatnonzero(notes[:, 0]):
                notes[i, 0] = 0
                for j in range(places.shape[0]):
                    if weights[i, j] > 1.0:
                        weights[i, j] = max(1.0, weights[i, j] * WEIGHT_DECAY)
                        notes[i, 0] = 1
            order[:] = -1
            for n in range(k):
                i, j = found[n, 0], found[n, 1]
                weights[i, j] *= tuning[4] + tuning[5] * depths[n] / largest
                weights[j, i] = weights[i, j]
                notes[i, 0] = notes[j, 0] = 1
                order[i] = 0
                if j < movable:
                    order[j] = 0
            n = 0
            for i in range(movable):
                if order[i] == 0:
                    order[n], notes[i, 1] = i, progress[3]
                    n += 1
            for i in range(n - 1, 0, -1):
                rng[0] = _next(rng[0])
                j = int(_unit(rng[0]) * (i + 1))
                order[i], order[j] = order[j], order[i]
            progress[0], progress[1] = 0, n
            totals[2] = reached
        while progress[0] < progress[1]:
            if weighed >= quota:
                progress[2] += weighed
                return 0
            weighed += _replace(
                order[progress[0]], sizes, tuning, totals[2], best, rng, items, rooms, places,
                stance, weights, scales, buckets, grid, pairs, frames, heads, edges, cells, boxes,
            )
            progress[0] += 1
