/* Keeps a tap on the phone until the server has it. The page works without this script; it is plain old JavaScript. */
(function () {
  "use strict";
  var key = "family-unsent:" + location.pathname;
  var box = document.getElementById("unsent");
  if (!window.localStorage || !window.XMLHttpRequest || !box) { return; }

  function read() {
    try { return JSON.parse(localStorage.getItem(key) || "[]"); } catch (error) { return []; }
  }
  function write(list) {
    try { localStorage.setItem(key, JSON.stringify(list)); return true; } catch (error) { return false; }
  }
  function drop(body) {
    write(read().filter(function (one) { return one.body !== body; }));
  }
  function pair(name, value) { return encodeURIComponent(name) + "=" + encodeURIComponent(value); }

  function bodyOf(form, button) {
    var parts = [], i, field;
    for (i = 0; i < form.elements.length; i += 1) {
      field = form.elements[i];
      if (field.name && field.type !== "submit" && field.tagName !== "BUTTON") { parts.push(pair(field.name, field.value)); }
    }
    if (button && button.name) { parts.push(pair(button.name, button.value)); }
    if (!form.elements.at || !form.elements.at.value) { parts.push(pair("at_utc", new Date().toISOString())); }
    return parts.join("&");
  }
  function noteOf(body) {
    var found = /(?:^|&)note=([^&]*)/.exec(body);
    return found ? decodeURIComponent(found[1]) : "";
  }
  function said(name) { return document.body.getAttribute("data-" + name); }
  function line(words) {
    var one = document.createElement("p");
    one.textContent = words;
    box.appendChild(one);
  }
  function press(words, then) {
    var one = document.createElement("button");
    one.type = "button";
    one.textContent = words;
    one.onclick = then;
    box.appendChild(one);
  }
  function show() {
    var list = read(), refused = list.filter(function (one) { return one.refused; }), i;
    box.textContent = "";
    box.className = list.length ? "told" : "";
    if (!list.length) { return; }
    if (list.length > refused.length) {
      line(said("unsent") + " (" + (list.length - refused.length) + ")");
      press(said("again"), sendAll);
    }
    for (i = 0; i < refused.length; i += 1) { showRefused(refused[i]); }
  }
  function showRefused(one) {
    line(said("refused") + " " + noteOf(one.body));
    press(said("forget"), function () { drop(one.body); show(); });
  }
  function refuse(body) {
    write(read().map(function (one) { return one.body === body ? { action: one.action, body: body, refused: true } : one; }));
  }
  function send(item, then) {
    var call = new XMLHttpRequest();
    call.open("POST", item.action);
    call.setRequestHeader("Content-Type", "application/x-www-form-urlencoded");
    call.timeout = 20000;
    call.onloadend = function () { then(call.status, call.responseText, call.responseURL || ""); };
    call.send(item.body);
  }
  function sendAll() {
    var list = read().filter(function (one) { return !one.refused; });
    (function next(i, sent) {
      if (i >= list.length) {
        show();
        if (sent) { location.replace(location.pathname + "?done=yes"); }
        return;
      }
      send(list[i], function (status) {
        if (status >= 200 && status < 300) { drop(list[i].body); sent = true; }
        if (status >= 400 && status < 500 && status !== 429) { refuse(list[i].body); }
        next(i + 1, sent);
      });
    }(0, false));
  }
  var pressed = null;
  document.addEventListener("click", function (event) {
    var one = event.target;
    if (one && one.tagName === "BUTTON") { pressed = one; }
  }, true);
  document.addEventListener("submit", function (event) {
    var form = event.target, button = pressed && pressed.form === form ? pressed : null, item, hidden;
    if (form.getAttribute("data-plain")) { return; }
    item = { action: form.getAttribute("action"), body: bodyOf(form, button) };
    if (!write(read().concat([item]))) { return; }
    event.preventDefault();
    send(item, function (status, text, url) {
      if (status >= 200 && status < 300) {
        drop(item.body);
        location.replace(url.indexOf("done=") > 0 ? url.split("#")[0] : location.pathname + "?done=yes");
      } else if (status >= 400 && status < 500) {
        // the server's own page says what is wrong and gives back what was typed
        drop(item.body);
        form.setAttribute("data-plain", "yes");
        if (button && button.name) {
          hidden = document.createElement("input");
          hidden.type = "hidden"; hidden.name = button.name; hidden.value = button.value;
          form.appendChild(hidden);
        }
        form.submit();
      } else {
        show();
        window.scrollTo(0, 0);
      }
    });
  });
  window.addEventListener("online", sendAll);
  if (read().length) { show(); sendAll(); }
}());
