"""How long a patient may go without breathing: a model of oxygen stores, not a look-up and not a countdown.

`parameters` turns what is known of a patient (weight, height, sex, age, posture, shunt …) into lung volume, oxygen
consumption, cardiac output and blood stores. `model` fills the lung during pre-oxygenation and then integrates the
mass balance of oxygen, nitrogen and CO2 over lung, arterial and venous blood by fixed-step RK4. `forecast` asks it for
the time to a saturation, a low and a high estimate, the curve, and the three inputs that move it most. `validation`
holds it against every published point and writes `APNOEA.md`. One parameter set serves all; nothing is tuned per study.
"""
