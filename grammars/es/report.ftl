# El informe de un trabajo: un fichero, y una página entre otras. Not checked by a native speaker.

title-of-session = { $job }, sesión { $session }
job-unnamed = Trabajo
skip-to-the-result = Ir al resultado
skip-to-what-stood-out = Ir a lo que llamó la atención
skip-to-what-was-said = Ir a lo dicho y oído
opened-at-utc = { $day }, abierto a las { $time } UTC
opened-at-local = { $day }, abierto a las { $time } ({ $utc } UTC)
clock-not-vouched-for = { $when } según un reloj que nada avalaba: la fecha puede no ser correcta
named-technician = Técnico: { $name }.
named-vehicle = Vehículo: { $name }.
named-bay = Puesto: { $name }.
named-of-car = { $label }: { $value }.
car-is-personal = Orden, matrícula y número de bastidor son datos personales.
car-not-recorded = No consta qué coche era: este informe no lo dice.
keep-as-a-file = Guardar este informe como fichero
parts-of-this-report = Partes de este informe
part-aim = Orientación
part-notable = Lo que llamó la atención
part-pictures = Dibujos
part-readings = Lecturas y decisiones
part-cautions = Precauciones
part-trust = Confianza
part-appendix = Apéndice
part-timeline = Dicho y oído
footer-session = Sesión { $session }, { $events } eventos.
footer-session-version = Sesión { $session }, acompañante { $version }, { $events } eventos.
times-are =
    { $zone ->
        [UTC] Las horas son UTC.
       *[other] Las horas son locales, { $zone }.
    }
carries-clips = Este fichero lleva { $count } { $count ->
        [one] fragmento
       *[other] fragmentos
    } de una voz grabada: datos personales.

example-files-note = Ficheros de ejemplo: en ninguna parte son valores de un fabricante. Con esto no se puede juzgar ningún coche.
headline-inside = La orientación del radar está dentro de los límites introducidos.
headline-inside-means = Vale con los límites introducidos para este coche y las incertidumbres introducidas para las lecturas y escalas, con la probabilidad que se da abajo.
headline-tool_inside = El equipo de diagnosis indicó que la orientación está dentro.
headline-tool_inside-means = El acompañante guio por los pasos y llevó el registro; no midió ninguna orientación.
headline-not_aimed = En este trabajo no se orientó nada.
headline-not_aimed-means = El acompañante guio por los pasos y llevó el registro; no se midió ninguna orientación.
headline-outside = La orientación del radar está fuera de los límites introducidos.
headline-outside-means = El coche no debe entregarse como orientado. La última orientación y su incertidumbre están abajo.
headline-not_settled = Sin decidir: demasiado cerca de los límites.
headline-not_settled-means = Con las incertidumbres introducidas no se puede afirmar ni dentro ni fuera.
headline-stopped = Parado antes de tener un resultado.
headline-stopped-means = Motivo: { SENTENCE($why) } Aquí no se dice nada sobre aquello para lo que era el trabajo.
headline-unfinished = Esta sesión no se terminó.
headline-unfinished-means = El registro acaba antes de un resultado. Aquí no se dice nada sobre aquello para lo que era el trabajo.
headline-unknown = Terminó con «{ $result }».
headline-unknown-means = Este resultado no se conoce aquí.
headline-of-the-job-means = Así termina este trabajo el fichero del trabajo, según las respuestas que se dieron. El acompañante guio por los pasos y llevó el registro; no midió más que las lecturas de abajo.
headline-measured-by-the-job-means = Cada resultado de abajo se midió en dos series o más que coinciden. Vale con los límites introducidos para este coche y las incertidumbres introducidas para las lecturas y las escalas.
headline-chance = { $what }: { $chance }.
chance-of-both-limits = Probabilidad de que la orientación esté dentro de ambos límites
does-not-mean = Lo que esto no significa
headline-rests-on = Se basa en cifras que introdujo el taller y en lecturas que una persona dijo y confirmó. Una cifra equivocada en un fichero, o una escala desajustada, no se ve en ninguna parte.
headline-examples = Se hizo con ficheros de ejemplo. Sus límites, medidas e incertidumbres son ejemplos, no valores de un fabricante: con ellos no se puede juzgar ningún coche.
not-meant-safe = No dice que la asistencia al conductor sea segura, ni que funcionen el frenado o el control de distancia: dice hacia dónde apuntaba el haz del radar mientras se midió.
not-meant-rest = No incluye códigos de avería, software, la cámara del parabrisas ni nada que se moviera después de la última lectura.
expanded-uncertainty-note = ± es la incertidumbre expandida U = k u con k = { $k }: unas diecinueve veces de cada veinte el valor verdadero está así de cerca. Izquierda y derecha son las del coche, como va sentado el conductor.

aim-title = La orientación antes y después
look-before = como se encontró
look-after = después de la ronda { $round }
look-of-sets = { $when }, media de { $sets } series
look-first = { $when }, primera mirada a { $levels } niveles
look-short = { $when }, serie corta de { $levels } niveles
column-when = Cuándo
column-sideways = Lateral
column-up-or-down = En altura
column-chance-of-both = Probabilidad de ambas dentro
column-answer = Respuesta
once-more = por medir una vez más
row-result = resultado, como quedó
row-limits = límites introducidos
level-wanted = al menos { $level }
decision-rule = Regla de decisión: se dice dentro cuando la probabilidad de que ambos ejes estén dentro de sus límites es al menos { $level }.
decision-rule-looks = Regla de decisión: se dice dentro cuando la probabilidad de que ambos ejes estén dentro de sus límites es al menos { $level }, en la evaluación { $look } de { $most } como máximo en una misma posición de los tornillos, que comparten el riesgo declarado ({ $spent } de equivocarse en un límite, gastado hasta ahora).
decision-rule-entered = Se introdujo { $entered } para el conjunto; quien mira varias veces se equivoca con más facilidad, así que cada evaluación tiene que ser más segura.
readings-scattered = Las lecturas se dispersaron { $ratio } veces lo introducido; su incertidumbre se amplió en esa medida.
left-at-range = Lo que queda, a distancia: { $misses }.
miss-ahead = a { $range }
miss-both = { $sideways } ± { $sideways_u } y { $height } ± { $height_u }

times-over = ({ $times } veces)
event-number = evento { $number }
more-in-the-appendix = { $count } más están en el apéndice.
nothing-stood-out = Nada fue improbable, ningún movimiento salió distinto de lo previsto y nada se retiró.

strip-caption = Tomado: oído y no negado. Negado: se repitió, y el técnico dijo no o dio otro número. Los números de arriba son las etapas.
nothing-drawn = No se midió nada que se pudiera dibujar.
dials-caption = Cuánto había que girar cada tornillo, mirando su cabeza. Cada anillo hacia dentro es una vuelta entera.
plan-caption = El puesto visto desde arriba. Los errores del soporte están dibujados mucho más grandes de lo que son; los factores están en el dibujo.
plan-asked-for = Se pidió: { $moves }.
plan-measured-again = Luego, medido otra vez: { $moves }.
leans-caption = Puntos: el eco leído en cada muesca. Línea: la curva ajustada. Su máximo está donde la placa miraba de frente al radar; la franja sombreada son dos incertidumbres típicas a cada lado.
rounds-title = La orientación ronda a ronda
rounds-note = Barras: dos incertidumbres típicas a cada lado. Sombreado: los límites introducidos.
rounds-round = ronda { $round }
dials-title = Tornillos, ronda { $round }
strip-title = Respuestas a lo largo del tiempo
strip-count = { $answers } en { $lasted }
strip-told = { $answers } respuestas en { $lasted }: { $taken } tomadas, { $misheard } negadas al repetirlas, { $refused } rechazadas, { $silent } preguntas sin respuesta.
strip-no-noise = No se guardó ningún nivel de ruido.
strip-noise-told = El fondo estaba de { $least } a { $most } dB por debajo del máximo, en medio { $middle }.
strip-taken = tomado
strip-misheard = negado
strip-refused = rechazado
strip-silent = silencio
strip-noise = ruido
lasted-minutes = { $minutes } minutos
lasted-seconds = { $seconds } segundos
plan-title = El puesto visto desde arriba
plan-factors = Coche y soporte a la misma escala. Errores de posición dibujados { $shift } veces y errores de ángulo { $turn } veces más grandes de lo que son.
plan-cars-left = izquierda del coche
plan-cars-right = derecha del coche
plan-sensor = radar
plan-last = último { $amount }
plan-first = primero { $amount }
plan-stand-last = soporte, última medida
plan-stand-first = soporte, como se halló
plan-thrust = dirección de empuje
plan-target-caption = El puesto visto desde arriba. A trazos, donde debe estar; en línea llena, donde se midió por última vez; la distancia entre ambos está dibujada mucho más grande de lo que es, con los factores que da el dibujo.
plan-target-factors = Coche y lugares a la misma escala. Errores de posición dibujados { $shift } veces y errores de ángulo { $turn } veces más grandes de lo que son.
plan-target-wanted = donde debe estar
plan-target-last = última medida
plan-tapes = marca de plomada y cinta
plan-front = delante
plan-rear-axle = eje trasero
plan-corner-left = El reflector debe estar a { $radius } del centro del eje trasero, a { $angle } de la línea recta hacia atrás, a la izquierda del coche.
plan-corner-right = El reflector debe estar a { $radius } del centro del eje trasero, a { $angle } de la línea recta hacia atrás, a la derecha del coche.
plan-board = El panel debe estar { $distance } por delante del eje delantero, en la línea de empuje y a escuadra con ella.
plan-mat-front = La alfombra delantera debe estar { $distance } por delante del eje delantero.
plan-mat-rear = La alfombra trasera debe estar { $distance } por detrás del eje trasero.
swings-title = Giros de la placa, desde arriba
leans-title = Inclinaciones de la placa, de lado
lean-curve-first = { $title }, primera ronda
lean-curve-last = { $title }, última ronda
lean-curve-told = Eco más fuerte a { $strongest }. Lecturas: { $readings }.
lean-curve-strongest = más fuerte a { $strongest }
lean-curve-upright = recta
lean-curve-factor = ángulos ×{ $factor }
lean-curve-echo = eco, dB
lean-up = arriba
lean-floor = suelo
lean-end-positive = arriba cerca →
lean-end-negative = ← arriba lejos
swing-end-positive = borde izq. cerca →
swing-end-negative = ← borde der. cerca

readings-title = Lecturas y decisiones que cuentan
nothing-accepted-or-decided = No se tomó ninguna lectura y no se decidió nada.
before-the-first-stage = Antes de la primera etapa
column-what = Qué
column-value-and-uncertainty = Valor e incertidumbre
column-limits = Límites
column-decision = Decisión
reading-of-set = { $title }, serie { $number }
readings-note = Las filas sombreadas son decisiones; el porcentaje es la probabilidad de estar dentro, donde se pidió una. Las lecturas retiradas o medidas otra vez están en el apéndice.

cautions-title = Precauciones dadas
no-caution = En esta sesión no se dio ninguna precaución.

trust-title = ¿Se puede confiar en este registro?
trust-no = No: el registro no está como se escribió.
trust-yes = Comprobado al hacer este informe: los { $events } eventos se siguen sin cambios, y todos los sonidos que nombran están ahí sin cambios.
signed-off-by = Firmado: { $who }
signed-off-by-nobody = Firmado: por nadie todavía.
signed-checked = comprobado: { $worth }
head-hash = Hash final de esta sesión: { $hash }
head-hash-note = Guarda esta línea. Quien la tenga puede mostrar más tarde si el registro sigue acabando aquí; el registro por sí solo no puede.
finding-at = evento { $event }: { $what }
finding-damaged = no se puede leer
finding-guards = faltan sus protecciones contra cambios
finding-gap = faltan eventos
finding-changed = se cambió su contenido
finding-chain = no sigue al evento anterior
finding-clip_missing = falta su sonido
finding-clip_changed = se cambió su sonido
finding-signature = su firma no vale
finding-head = su final no es el que se guardó en otro sitio
finding-orphan = no pertenece a ninguna sesión
finding-sealed = no es lo que se selló
finding-rolled_back = es un fichero más antiguo
finding-index = el índice que lo acompaña dice otra cosa
finding-box = las firmas del equipo no valen
finding-person = la clave de una persona no vale

appendix-title = Apéndice: el registro completo de esta sesión
appendix-example = Ejemplo, no valores de un fabricante: esto vale para todas las cifras de abajo.
every-reading = Todas las lecturas
no-reading = No se tomó ninguna lectura.
readings-number = Lecturas { $number }
column-reading = Lectura
column-value = Valor
column-uncertainty = Incertidumbre típica
column-said-as = Dicho como
column-tries = Intentos
column-at = Hora
read-again-later = leído otra vez después
every-decision = Todas las decisiones
nothing-decided = No se decidió nada.
decisions-number = Decisiones { $number }
column-question = Pregunta
column-chance-inside = Probabilidad dentro
column-wanted = Se pide
decision-time = { $title } (vez { $times })
decided-again-later = decidido otra vez después
by-limits-alone = solo por límites
budget-title = De dónde viene la incertidumbre de la última orientación
budget-of = { $title }: { $shares }.
timeline-title = Lo que se dijo y se oyó
timeline-note = Cada etapa se abre por sí sola; un enlace a un evento abre aquella en la que está.
stage-summary = desde { $time }, { $events } eventos
stage-summary-not-taken = desde { $time }, { $events } eventos, { $refused } sin tomar
sound-of-event = Sonido del evento { $number }
sound-kept = ♪ sonido guardado
sound-missing = el sonido falta o no se puede leer
sound-changed = el sonido se cambió después de guardarlo y no se reproduce aquí
sound-expired = el sonido caducó el { $day }
sound-left-out = el sonido se dejó fuera de este informe
refusals-title = Lo que no se tomó
refusals-count =
    { $count ->
        [one] { $count } vez el acompañante no oyó nada que pudiera tomar. Es esta:
       *[other] { $count } veces el acompañante no oyó nada que pudiera tomar. Son estas:
    }
column-event = Evento
column-why = Motivo
column-more = Más
nothing-refused = No se rechazó nada y ninguna pregunta quedó sin respuesta.
what-else-stood-out = Qué más llamó la atención
entered-title = Lo que introdujo el taller
file-job = Trabajo
file-vehicle = Vehículo
file-mount = Montaje del sensor
file-bay = Puesto
column-field = Campo
column-entered = Introducido
files-used = Ficheros usados, por su SHA-256

# Lo que se tomó de un trabajo anterior.
taken-over-title = Tomado de antes
taken-over-note = Medido en un trabajo anterior de este registro y dado por válido todavía, por lo que dijo el técnico y por lo que introdujo el taller; no se midió en este trabajo.
taken-over-from = trabajo { $session }, evento { $event }, { $when } UTC
column-stage = Etapa
column-from = De

# El balance, línea por línea.
budget-note = Las sensibilidades y contribuciones están sin dirección: grados de orientación por una unidad de la línea, lateral · vertical. Las lecturas tomadas varias veces son una línea. La incertidumbre típica combinada es la raíz de la suma de cuadrados, con lo que ambos ejes comparten; donde los grados de libertad son ∞, la cifra se introdujo como conocida.
budget-what = Término
budget-distribution = Distribución
budget-u = Incertidumbre típica
budget-sensitivity = Sensibilidad
budget-freedom = Grados de libertad
budget-sideways = Lateral
budget-up-or-down = Vertical
budget-entered = Introducido en
budget-line = { $name }: { $part }{ $takes ->
        [one] {""}
       *[other] , media de { $takes }
    }
budget-at-step = { $step }, { $at }
budget-line-entered = { $term } ({ $at })
term-head_doubt_deg = Cabezal láser a escuadra con su garra
term-head_mean_doubt_deg = Cabezales láser a escuadra con sus garras, media de ambos
term-heads_apart_doubt_deg = Cabezales láser distintos entre sí
term-heads_reseated_doubt_deg = Cabezales láser colocados de nuevo
term-heads_out_left_deg = Cabezales láser, según la comprobación del soporte
term-settled_toe_doubt_deg = Convergencia tras levantar y asentar
term-plate_to_bar_doubt_deg = Placa paralela a la barra de espejo
term-wheel_back_doubt_deg = Rueda devuelta a su inicio
term-detent_doubt_deg = Muesca de la placa
term-hinge_doubt_mm = Eje en que gira la placa
term-ripple_doubt_db = Ecos del local
term-level_doubt_mm_per_m = El nivel mismo
term-line_laser_doubt_deg = Nivel propio del láser de línea
term-settled_pitch_doubt_deg = Cabeceo de la carrocería tras levantar y asentar
term-turning_foot_doubt_mm = Pie en que gira el soporte
term-job = Introducido en el fichero del trabajo
budget-combined = Incertidumbre típica combinada u
budget-expanded = Incertidumbre expandida U = k u, k = { $k } (cobertura de alrededor del 95 %)
part-scatter = dispersión
part-rounding = redondeo
part-scale = escala y método
part-doubt = duda
part-entered = incertidumbre introducida
distribution-normal = normal
distribution-rectangular = rectangular
distribution-u_shaped = en forma de U
entered-job = fichero del trabajo
entered-bay = fichero del puesto, { $field }
entered-vehicle = fichero del vehículo, { $field }
entered-mount = fichero del montaje, { $field }
entered-worked-out = calculado con las cifras de la placa

# Como se encontró, como quedó; la regla.
as-left-locked = Como quedó: medido después de bloquear los tornillos.
as-left-untouched = Como quedó: en este trabajo no se giraron los tornillos; la orientación está como se encontró.
decision-rule-guard = De un solo eje, con el otro en el centro, eso acepta hasta { $sideways } a los lados y { $height } hacia arriba o abajo: una banda de guarda de { $guard_sideways } y { $guard_height } por dentro de los límites.
decision-rule-risk = El riesgo es el del cliente: que se diga dentro de una orientación que está justo fuera de un límite.
decision-rule-wrong = Si la incertidumbre introducida que más pesa y que ninguna lectura del trabajo comprueba ({ $what }) fuera tres veces mayor, la probabilidad sería { $chance }; debe alcanzar el mismo nivel.

# En qué se apoya el resultado además de las lecturas.
instruments-title = Instrumentos y ambiente
instrument-name = Instrumento
instrument-measures = Uso
instrument-serial = Número de serie
instrument-certificate = Certificado
instrument-due = Vigente hasta
instrument-was-due = { $due }, caducado el día de este trabajo
instrument-late = { $name }: su certificado valía hasta el { $due } y había caducado cuando se midió esto.
stand-check-told = { $came_to ->
    [as_known] La comprobación del soporte del { $day } salió como lo conocido (sesión { $session }).
    [failed] La comprobación del soporte del { $day } falló (sesión { $session }): lo medido aquí descansa en un soporte que no es como se conoce.
    [overdue] La última comprobación del soporte es del { $day } (sesión { $session }) y estaba vencida cuando se midió esto.
   *[never] No consta ninguna comprobación de este soporte: nada muestra aquí que gire como se conoce.
}
no-instruments = El taller no introdujo instrumentos: nada muestra aquí que estuvieran calibrados.
not-entered = no introducido
environment-title = Ambiente
environment-read = { $what }: { $value }.
environment-light = Luz, como la introdujo el taller: { $told }
environment-air = Aire, como lo introdujo el taller: { $told }
environment-not-entered = Luz y aire: el taller no introdujo nada.
environment-temperature = La temperatura no es una línea del balance: cada ángulo es aquí un cociente de dos longitudes, y unas escalas de acero o aluminio 15 grados más calientes que 20 °C son más largas en menos del 0,04 %, algo que la incertidumbre del recorrido del láser ya contiene.
validation-title = En qué se probó este acompañante
validation-told = Pruebas en puestos simulados, «{ $benchmark }», versión { $version }, { $day }: de { $decisions } decisiones por fila sobre radares apenas fuera de un límite, con cada error tan grande como se introdujo, como mucho { $worst } se dieron por dentro (cota del 95 %: { $bound }; en { $where }); las afirmaciones del 95 % se cumplieron en { $least } a { $most }; de { $jobs } trabajos enteros { $false } se dieron por dentro falsamente.
validation-none = Con esta versión no se entregan pruebas de este trabajo.
validation-no-car = Una simulación no es una validación en un coche.
# Varios resultados juzgados juntos, en el informe.
verdict-title = Juzgado por series que coinciden
verdict-note = La probabilidad es una cota inferior, sobre todo lo que se juzgó junto.
verdict-column-judged = Qué se juzgó
verdict-column-look = Evaluación
verdict-column-answer = Respuesta
verdict-column-chance = Probabilidad de todo dentro
verdict-column-wanted = Se pide
verdict-look = { $look } de { $most } como máximo
verdict-looks = evaluación { $look }, { $sets ->
        [one] { $sets } serie
       *[other] { $sets } series
    }
verdict-answer-inside = dentro
verdict-answer-outside = fuera
verdict-answer-too_close = demasiado justo
verdict-answer-refused = las series no coinciden
