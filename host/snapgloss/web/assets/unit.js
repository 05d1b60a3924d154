// °C or °F, as chosen on this device: sentences stand in both, the sheet shows one.
import { settings } from "./settings.js";

const show = () => { document.documentElement.dataset.unit = settings.fahrenheit ? "f" : "c"; };

addEventListener("snap-setting", show);
show();
