# La entrega: una página para quien recoge el coche. Not checked by a native speaker.

hand-over-title = Entrega
hand-over-title-of-session = Entrega, sesión { $session }
hand-over-visit = Visita { $visit }
hand-over-rehearsal = Un ensayo en un puesto simulado. No se trabajó en ningún coche.
hand-over-example = Hecho con ficheros de ejemplo, no con valores de un fabricante. Con esta página no se puede juzgar ningún coche.

hand-over-car = El coche
hand-over-order = Orden de trabajo
hand-over-plate = Matrícula
hand-over-vin = Número de bastidor
hand-over-odometer_km = Kilometraje
hand-over-type = Modelo
hand-over-complaint = Qué se pidió
hand-over-which-car = Qué coche
hand-over-no-car = no consta: esta página no dice qué coche era

hand-over-done = Qué se hizo
hand-over-as-found = Como se halló
hand-over-not-measured = no se midió
hand-over-as-left = Como quedó
hand-over-sideways = Lateral
hand-over-height = En altura
hand-over-answer = { $label }: { $value }.
hand-over-answer-reason = Motivo
hand-over-answer-faults_before = Códigos de avería antes
hand-over-answer-faults_after = Códigos de avería después
hand-over-answer-road_test = Prueba en carretera
hand-over-road-test_good = hecha, todo bien
hand-over-road-test_bad = hecha, sigue mal
hand-over-road-test_later = por hacer
hand-over-road-test_left_out = no se hizo
hand-over-by-at = Hecho por { $who }, { $when }.
hand-over-in-the-record = En el registro: sesión { $session }, código { $code }.
hand-over-trouble = El registro de este trabajo no está como se escribió: { $what }

hand-over-codes = Códigos de avería
hand-over-codes-before = Códigos antes
hand-over-codes-after = Códigos después
hand-over-codes-before-but-none = No concuerda: hay códigos anotados de antes del trabajo, y el técnico dijo que no había ninguno. Hay que aclararlo antes de que salga el coche.
hand-over-codes-after-none-but-stored = No concuerda: no hay ningún código anotado de después del trabajo, y el técnico dijo que queda uno. Hay que leer los códigos otra vez antes de que salga el coche.
hand-over-codes-after-but-none = No concuerda: hay códigos anotados de después del trabajo, y el técnico dijo que no queda ninguno. Hay que leer los códigos otra vez antes de que salga el coche.

hand-over-means = Qué significa, y qué no
hand-over-inside-means = Dentro significa: dentro de los límites que se introdujeron para este coche, con las incertidumbres que se introdujeron, en el momento de la medición.
hand-over-clock = Nada avalaba el reloj: las horas pueden no ser correctas.
hand-over-sign-workshop = Fecha, firma del taller
hand-over-sign-owner = Fecha, firma de quien recoge el coche
hand-over-footer = Detrás de esta página está el informe completo de cada trabajo. Orden, matrícula y número de bastidor son datos personales. Para encontrar un trabajo: companion review show SESIÓN. Su código es el principio de su hash final; companion verify comprueba con él el registro.
