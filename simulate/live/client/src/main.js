import { App } from "./app.js";

window.halfgain = new App(document.getElementById("app"));
