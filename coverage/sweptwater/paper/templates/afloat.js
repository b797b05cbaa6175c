"use strict";
// Where the boat is, on a page that lies on its phone: asked only when the button is pressed, told to nobody.
const afloat = (() => {
  const EVERY_MS = 10000; // a screen reader is told no oftener, unless the boat must turn
  const SILENT_MS = 60000;
  const POOR_M = 100;
  const ON_LINE_M = 25;
  const FAR_M = 20000;
  let map, words, drifts = [], zones = [], sectors = [], water = [];
  let watching = null, following = true, me = null, doubt = null, last = 0, alarmed = 0, lock = null;

  // Metres about a place: over 20 km an equirectangular plane is off by 1 part in 1,000 at most.
  const plane = ({ lat, lng }) => {
    const across = 111320 * Math.cos((lat * Math.PI) / 180);
    return (at) => [(at.lng - lng) * across, (at.lat - lat) * 111132];
  };
  const toSegment = ([ax, ay], [bx, by]) => { // from 0, 0: the distance, the nearest point, how far along
    const [dx, dy] = [bx - ax, by - ay];
    const square = dx * dx + dy * dy;
    const along = square ? Math.min(1, Math.max(0, -(ax * dx + ay * dy) / square)) : 0;
    const [x, y] = [ax + along * dx, ay + along * dy];
    return { m: Math.hypot(x, y), x, y, along: along * Math.sqrt(square) };
  };
  const toLine = (points) => {
    let best = { m: Infinity }, gone = 0;
    for (let at = 1; at < points.length; at += 1) {
      const found = toSegment(points[at - 1], points[at]);
      if (found.m < best.m) best = { ...found, along: gone + found.along };
      gone += Math.hypot(points[at][0] - points[at - 1][0], points[at][1] - points[at - 1][1]);
    }
    return { ...best, left: gone - best.along };
  };
  const rings = (shape) => { // of one or several polygons
    const all = shape.getLatLngs();
    return Array.isArray(all[0][0]) ? all.flat() : all;
  };
  const inside = (outlines) => { // even and odd: holes count as outside
    let odd = false;
    for (const points of outlines) {
      for (let at = 0, before = points.length - 1; at < points.length; before = at, at += 1) {
        const [[ax, ay], [bx, by]] = [points[at], points[before]];
        if (ay > 0 !== by > 0 && ax - (ay * (bx - ax)) / (by - ay) > 0) odd = !odd;
      }
    }
    return odd;
  };
  const closed = (points) => [...points, points[0]];
  const toArea = (shape, xy) => {
    const outlines = rings(shape).map((ring) => ring.map(xy));
    const nearest = outlines.map((points) => toLine(closed(points))).reduce((a, b) => (a.m < b.m ? a : b));
    return { ...nearest, inside: inside(outlines) };
  };
  const POINTS = ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"];
  const compass = (x, y) => POINTS[Math.round(((Math.atan2(x, y) * 180) / Math.PI + 360) / 22.5) % 16];
  const length = (m) => {
    const [unit, name] = words.units === "imperial" ? [0.9144, "yd"] : [1, "m"];
    const number = m / unit;
    return `${(number < 100 ? Math.round(number) : 10 * Math.round(number / 10)).toLocaleString("en")} ${name}`;
  };

  // --- what is told
  const nearestZone = (xy) => zones.map((shape) => toArea(shape, xy)).reduce((a, b) => (!b.inside && (a.inside || a.m < b.m) ? a : b), { m: Infinity, inside: false });
  const zoneWords = (zone, accuracy) => {
    if (zone.inside && zone.m > accuracy) return ["You are in water that is out of bounds: leave it at once.", 2];
    const near = zone.inside ? 0 : zone.m;
    const way = `${length(near)} ${compass(zone.x, zone.y)} of here`;
    if (near - accuracy < words.keepOff) return [`Out of bounds is ${way}: keep ${length(words.keepOff)} off.`, 1];
    return near < 4 * words.keepOff + accuracy ? [`Out of bounds is ${way}.`, 0] : ["", 0];
  };
  const driftWords = (xy, accuracy) => {
    const found = drifts.map(({ shape, number }) => ({ number, points: shape.getLatLngs().map(xy) })).map((one) => ({ ...one, ...toLine(one.points) }));
    if (!found.length) return "";
    const on = found.reduce((a, b) => (a.m <= b.m ? a : b));
    if (on.m < ON_LINE_M + accuracy / 2 && on.left > 1) return `On drift ${on.number}: ${length(on.left)} to its end.`;
    const start = found.map(({ number, points: [[x, y]] }) => ({ number, x, y, m: Math.hypot(x, y) })).reduce((a, b) => (a.m <= b.m ? a : b));
    return `Drift ${start.number} begins ${length(start.m)} ${compass(start.x, start.y)} of here.`;
  };
  const sectorWords = (xy) => {
    const found = sectors.find(({ shape }) => inside(rings(shape).map((ring) => ring.map(xy))));
    return found ? `Sector ${found.name}.` : "";
  };
  const offWater = (xy) => {
    const found = water.map((shape) => toArea(shape, xy));
    if (!found.length || found.some((one) => one.inside)) return "";
    const near = found.reduce((a, b) => (a.m < b.m ? a : b));
    return near.m > FAR_M ? "You are far from this water." : `You are ${length(near.m)} from this water.`;
  };
  const say = (text, more = "", alarm = false) => { // what matters most stands large
    const box = document.querySelector(".afloat [role=status]");
    box.querySelector("strong").textContent = text;
    box.querySelector("span").textContent = more;
    box.classList.toggle("alarm", alarm);
  };
  const call = (text) => { document.querySelector(".afloat .where").textContent = text; };

  const seen = ({ coords, timestamp }) => {
    const at = L.latLng(coords.latitude, coords.longitude);
    const accuracy = coords.accuracy;
    if (!me) {
      doubt = L.circle(at, { radius: accuracy, color: "#16222b", weight: 1.5, fillColor: "#16222b", fillOpacity: 0.1, interactive: false }).addTo(map);
      me = L.circleMarker(at, { radius: 9, color: "#fff", weight: 3, fillColor: "#16222b", fillOpacity: 1, interactive: false }).addTo(map);
      map.setView(at, Math.max(map.getZoom(), words.closeZoom), { animate: false });
    }
    doubt.setLatLng(at).setRadius(accuracy).bringToFront();
    me.setLatLng(at).bringToFront();
    if (following && !map.getBounds().pad(-0.2).contains(at)) map.panTo(at, { animate: false });
    if (accuracy > POOR_M) return say(`The phone knows only within ${length(accuracy)} where you are: ${words.instead}`);
    const xy = plane(at);
    const [closeTo, alarm] = zones.length ? zoneWords(nearestZone(xy), accuracy) : ["", 0];
    if (timestamp - last < EVERY_MS && alarm === alarmed) return undefined;
    [last, alarmed] = [timestamp, alarm];
    const off = offWater(xy);
    const told = off ? [off] : [closeTo, driftWords(xy, accuracy), sectorWords(xy)];
    const [first, ...more] = [...told, `Good to ${length(accuracy)}.`].filter(Boolean);
    return say(first, more.join(" "), alarm > 0);
  };
  const REASONS = { 1: "This browser may not show where you are", 2: "The phone does not know where it is", 3: "The phone finds no position" };
  const failed = ({ code }) => {
    if (code !== 1 && Date.now() - last < SILENT_MS) return; // a receiver may lose sight for a while
    say(`${REASONS[code] || REASONS[2]}: ${words.instead}`);
    last = 0;
    if (code === 1) stop();
  };
  const keepAwake = async () => {
    try { lock = await navigator.wakeLock.request("screen"); } catch { lock = null; } // not everywhere, and not needed
  };
  const stop = () => {
    navigator.geolocation.clearWatch(watching);
    watching = null;
    [me, doubt].forEach((shape) => shape && shape.remove());
    [me, doubt, last] = [null, null, 0];
    if (lock) lock.release();
    document.querySelector(".afloat .stop").hidden = true;
    call("Show where we are");
  };
  const begin = () => {
    following = true;
    if (watching !== null) {
      if (me) map.panTo(me.getLatLng(), { animate: false });
      return;
    }
    if (!window.isSecureContext || !navigator.geolocation) {
      say(`Opened like this the browser does not show where you are: ${words.instead}`);
      return;
    }
    say("Looking for the boat ...");
    document.querySelector(".afloat .stop").hidden = false;
    call("Back to where we are");
    watching = navigator.geolocation.watchPosition(seen, failed, { enableHighAccuracy: true, maximumAge: 2000, timeout: 30000 });
    keepAwake();
  };

  const start = (drawn, layers, setting, told) => {
    map = drawn;
    words = { ...told, units: setting.units, closeZoom: map.getZoom() + 2 };
    layers.forEach((layer, index) => {
      const { key, features } = setting.layers[index];
      layer.eachLayer((shape) => {
        const { label } = features[shape.feature.id];
        if (key === "water") water.push(shape);
        if (key === "out-of-bounds") zones.push(shape);
        if (key === "planned" && !(shape instanceof L.Polygon)) drifts.push({ shape, number: label });
        if (key === "sectors" && shape instanceof L.Polygon) sectors.push({ shape, name: label });
      });
    });
    const box = document.querySelector(".afloat");
    box.hidden = false;
    box.querySelector(".where").addEventListener("click", begin);
    box.querySelector(".stop").addEventListener("click", () => { stop(); say(""); });
    map.on("dragstart", () => { following = false; });
  };
  return { start };
})();
