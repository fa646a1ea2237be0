# Lo que preguntan y muestran `companion vehicle`, `bay`, `stand` y `mount`: los ficheros propios del taller.
# Not checked by a native speaker.

picture-vehicle =
    desde la izquierda                                 desde arriba (adelante es a la derecha)

              __________                                 +----------------------+
        _____/          \_____                       ^   | o                  o |
       |        6a        6b   |= sensor             2r  | |        ^         | |= sensor
       |__ (o) __________ (o) _|   ^                 |   |           5 (izq.) | |
           |               |       4 altura          v   | o                  o |
           |<------1------>|<--3-->|                     +----------------------+
         eje trasero   eje delantero                       atrás (2r)  delante (2f)

       1 batalla   2f, 2r vía delantera y trasera: entre los centros de las ruedas   3 sensor por
       delante del eje delantero   4 su altura sobre el plano de las ruedas   5 a la izquierda del
       centro del coche   6a, 6b altura de marcha: del centro de la rueda al paso de rueda,
       detrás y delante
picture-bay =
    desde arriba (el coche mira a la derecha)

         o----------------o                  |  placa
         |     coche      |=  sensor  <--1-->|  2 ancho     5 láser de la garra .......> barra de espejo
         o----------------o                  |  3 alto      6 escalas de los brazos sobre el suelo
       puntos de las ruedas               lugar del soporte
       suelo: una pendiente + sube hacia el soporte; una pendiente lateral + tiene alto el lado
       izquierdo del coche
picture-stand =
    desde arriba (el coche mira a la derecha)

         o----------------o                  |  placa
         |     coche      |=  sensor  <--1-->|  2 ancho     5 láser de la garra .......> barra de espejo
         o----------------o                  |  3 alto      6 escalas de los brazos sobre el suelo
       puntos de las ruedas               lugar del soporte
picture-mount =
    desde delante del coche, mirando al sensor (la izquierda del coche queda a tu derecha)

                (o) superior         z arriba
                 |  z                 ^
         pivote (+)----- y --(o) izq. |
                                      +--> y hacia la izquierda del coche

       en sentido horario es mirando a la cabeza del tornillo

files-lengths = Longitudes en mm; se admiten cm, m e in si se escriben detrás del número.
files-called = Cómo se llama en los informes
files-has-it = ¿Tiene { $part }?
files-three-screws = ¿Tres tornillos y ningún pivote?
files-screw = tornillo { $place }
files-insist = { $problem } (si aun así es correcto, pon { $sign } detrás)
files-kept = { $problem }
    Lo que se escribió está guardado en { $file }: corrígelo allí.
files-use = Para usarlo: companion start --{ $kind } { $name }
files-use-stand = Para usarlo: escribe "stand: { $name }" en un fichero de puesto.
files-which-stand = Qué soporte ({ $names }; vacío: se pregunta aquí)
files-which-mount = Qué montaje tiene su radar ({ $names }; vacío: ninguno de estos)
files-made-by = Hecho por 'companion { $kind } new'. Cifras tal como las escribió el taller.
files-there = { $file } ya existe; elige otro nombre, o da --force.
files-two-figures-word = a
files-one-of = { LIST($choices, last: "or") }
files-left-words = izquierdo izquierda
files-right-words = derecho derecha
part-name-aim = un radar delantero que orientar
part-name-camera = una cámara delantera
part-name-corner = radares en las esquinas traseras
part-name-mats = cámaras alrededor que se calibran con alfombras

files-not-readable = no se puede leer: companion { $kind } check { $name }
files-example = EJEMPLO
files-example-figures = EJEMPLO: estas cifras no son valores de un fabricante.
files-nothing-wrong = { $file }: { $name }, no se encontró nada que no pueda ser correcto.
files-no-such-question = usual_answers: ningún trabajo incluido propone una respuesta a «{ $question }», solo a { LIST($known) }. Solo la usa un trabajo propio.
files-asked-in-full = nada, siempre se pregunta entera
files-is-example = Es un EJEMPLO: un informe hecho con él lo dice al principio.
files-still-example = Sigue marcado como ejemplo: escribe tus cifras, luego 'example: false' y un nombre propio, y compruébalo con: companion { $kind } check { $name }
files-from-to = de { $low } a { $high }

file-unit-none = sin unidad
file-unit-mm = mm
file-unit-mm_per_m = mm/m
file-unit-deg = grados
file-unit-turns = vueltas
file-unit-ghz = GHz
slip-unit-centimetres = centímetros
slip-unit-metres = metros
slip-unit-inches = pulgadas
file-choice-body = carrocería
file-choice-ground = suelo
file-choice-clockwise = horario
file-choice-anticlockwise = antihorario
file-choice-right = derecha
file-choice-left = izquierda
file-choice-echo_levels = niveles de eco
file-choice-each_time = preguntar cada vez

slip-range = encontrado { $found }; se pide: de { $low } a { $high } { $unit }
slip-range-in = { $slip }; ¿está en { $unit }?
slip-range-tenth = { $slip }; ¿es { $figure }?
slip-tracks = encontrado { $found } junto a una vía delantera de { $front }; se pide: dos casi iguales
slip-beside = encontrado { $found }, que queda fuera del coche; se pide: menos de la mitad de su vía de { $front }
slip-behind = encontrado { $found }, que queda detrás del coche; se pide: del eje delantero al sensor, positivo hacia delante
slip-side-left = encontrado { $found } para «{ $screw }»; se pide: por encima de 0, porque y crece hacia la izquierda del coche
slip-side-right = encontrado { $found } para «{ $screw }»; se pide: por debajo de 0, porque y crece hacia la izquierda del coche

ask-vehicle-wheelbase_mm = Batalla
ask-vehicle-front_track_mm = Vía delantera
ask-vehicle-rear_track_mm = Vía trasera
ask-vehicle-sensor_ahead_of_front_axle_mm = Sensor por delante del eje delantero
ask-vehicle-sensor_left_of_centre_mm = Sensor a la izquierda del centro
ask-vehicle-sensor_height_mm = Altura del sensor
ask-vehicle-ride_height_front_mm = Altura de marcha delante, mínima y máxima
ask-vehicle-ride_height_rear_mm = Altura de marcha detrás, mínima y máxima
ask-vehicle-aim-yaw_tolerance_deg = Orientación: tolerancia lateral
ask-vehicle-aim-elevation_tolerance_deg = Orientación: tolerancia en altura
ask-vehicle-aim-elevation_reference = Orientación: la altura se mide respecto a la carrocería o al suelo
ask-vehicle-aim-beam_width_yaw_deg = Ancho lateral del haz
ask-vehicle-aim-beam_width_elevation_deg = Ancho del haz en altura
ask-vehicle-aim-beam_width_agreement = Cuánto puede diferir un ancho de haz medido, como fracción de él
ask-vehicle-aim-frequency_ghz = Frecuencia del radar
ask-vehicle-usual_answers-aim_route = Cómo se lee la orientación
ask-vehicle-camera-ahead_of_front_axle_mm = Cámara por delante del eje delantero
ask-vehicle-camera-height_mm = Altura de la cámara
ask-vehicle-camera-board_ahead_of_front_axle_mm = Panel por delante del eje delantero
ask-vehicle-camera-board_height_mm = Altura del centro del panel
ask-vehicle-camera-sideways_tolerance_mm = Panel: tolerancia lateral
ask-vehicle-camera-distance_tolerance_mm = Panel: tolerancia en distancia
ask-vehicle-camera-height_tolerance_mm = Panel: tolerancia en altura
ask-vehicle-camera-turn_tolerance_deg = Panel: tolerancia de giro
ask-vehicle-camera-level_tolerance_mm_per_m = Panel: tolerancia de nivel
ask-vehicle-camera-yaw_limit_deg = Cámara: límite lateral
ask-vehicle-camera-elevation_limit_deg = Cámara: límite en altura
ask-vehicle-corner-behind_rear_axle_mm = Radar de esquina por detrás del eje trasero
ask-vehicle-corner-out_of_centre_mm = Radar de esquina desde el centro del coche hacia fuera
ask-vehicle-corner-reflector_radius_mm = Reflector desde el centro del eje trasero
ask-vehicle-corner-reflector_angle_deg = Reflector hacia fuera desde la línea recta hacia atrás
ask-vehicle-corner-reflector_height_mm = Altura del reflector
ask-vehicle-corner-place_tolerance_mm = Reflector: tolerancia de lugar
ask-vehicle-corner-height_tolerance_mm = Reflector: tolerancia en altura
ask-vehicle-corner-facing_tolerance_deg = Reflector: tolerancia de hacia dónde mira
ask-vehicle-corner-angle_limit_deg = Radar de esquina: límite a cada lado
ask-vehicle-mats-front_mm = Alfombra delantera por delante del eje delantero
ask-vehicle-mats-rear_mm = Alfombra trasera por detrás del eje trasero
ask-vehicle-mats-distance_tolerance_mm = Alfombras: tolerancia en distancia
ask-vehicle-mats-sideways_tolerance_mm = Alfombras: tolerancia lateral
ask-vehicle-mats-turn_tolerance_deg = Alfombras: tolerancia de giro
ask-vehicle-mats-skew_tolerance_deg = Alfombras: tolerancia de sesgo del campo
ask-bay-shop = Nombre del taller
ask-bay-floor-slope_up_deg = Pendiente del suelo, + sube hacia el soporte
ask-bay-floor-side_slope_deg = Pendiente lateral del suelo, + lado izquierdo alto
ask-bay-floor-twist_mm = Alabeo del suelo
ask-bay-floor-stand_spot_above_mm = Lugar del soporte sobre el plano de las ruedas
ask-bay-floor-line_laser_doubt_deg = Incertidumbre del nivel del láser de línea
ask-bay-stand-plate_distance_mm = De la placa al sensor
ask-bay-stand-distance_tolerance_mm = Tolerancia de esa distancia
ask-bay-stand-sideways_tolerance_mm = Soporte: tolerancia lateral
ask-bay-stand-height_tolerance_mm = Placa: tolerancia en altura
ask-bay-stand-turn_tolerance_deg = Soporte: tolerancia de giro
ask-bay-stand-level_tolerance_mm_per_m = Soporte: tolerancia de nivel
ask-bay-stand-plumb_tolerance_mm_per_m = Placa: tolerancia de aplomo
ask-bay-stand-beam_agreement_deg = Cuánto pueden diferir los dos haces de la convergencia
ask-bay-stand-arm_height_mm = Escalas de los brazos sobre el suelo
ask-bay-stand-plate_width_mm = Ancho de la placa
ask-bay-stand-plate_height_mm = Alto de la placa
ask-bay-stand-plate_flatness_mm = Planitud de la placa, más o menos
ask-bay-stand-plate_to_bar_doubt_deg = Incertidumbre de que la placa sea paralela a la barra de espejo
ask-bay-stand-head_doubt_deg = Incertidumbre de que un láser esté a escuadra con su garra
ask-bay-stand-detent_doubt_deg = Incertidumbre de una muesca de la placa
ask-bay-stand-lean_towards_deg = Muesca de la placa, inclinada hacia el coche
ask-bay-stand-lean_towards_near_deg = Muesca de la placa, a medias hacia el coche
ask-bay-stand-lean_away_deg = Muesca de la placa, inclinada hacia atrás
ask-bay-stand-lean_away_near_deg = Muesca de la placa, a medias hacia atrás
ask-bay-stand-swing_left_deg = Muesca de la placa, girada a la izquierda
ask-bay-stand-swing_left_near_deg = Muesca de la placa, a medias a la izquierda
ask-bay-stand-swing_right_deg = Muesca de la placa, girada a la derecha
ask-bay-stand-swing_right_near_deg = Muesca de la placa, a medias a la derecha
ask-bay-stand-largest_run_out_deg = Mayor alabeo de una garra
ask-bay-stand-run_out_residual_mm = Cuánto pueden diferir cuatro lecturas de alabeo
ask-mount-approach = El último movimiento de cada tornillo va en sentido
ask-mount-lock_doubt_turns = Cuánto puede girar un tornillo al bloquearlo
ask-screw-name = Cómo se llama, tal como se dice
ask-screw-y_mm = Del pivote a la izquierda del coche
ask-screw-z_mm = Del pivote hacia arriba
ask-screw-pitch_mm = Paso de rosca
ask-screw-hand = Rosca
ask-screw-travel_clockwise_turns = Vueltas de recorrido en sentido horario desde aquí
ask-screw-travel_anticlockwise_turns = Vueltas de recorrido en sentido antihorario desde aquí
ask-screw-backlash_turns = Holgura
where-1 = 1 en el dibujo
where-2 = 2 en el dibujo
where-2f = 2f, entre los centros de las ruedas
where-2r = 2r, entre los centros de las ruedas
where-3 = 3; por detrás: bajo 0
where-just-3 = 3 en el dibujo
where-4 = 4, sobre el plano de las ruedas
where-5 = 5; a la derecha: bajo 0
where-6 = 6 en el dibujo
where-6a = 6a, dos cifras
where-6b = 6b, dos cifras
where-makers = la cifra del fabricante
where-makers-procedure = según el procedimiento del fabricante
where-half-power = un sentido, media potencia
where-behind = por detrás: bajo 0
where-over-wheels = sobre el plano de las ruedas
where-survey = dos cifras: la menor y la mayor que permite la medición del suelo
where-doubt = incertidumbre típica
where-screw-name = por ejemplo: tornillo izquierdo
where-right-below = a la derecha: bajo 0
where-down-below = hacia abajo: bajo 0
where-one-turn = cuánto lo mueve una vuelta
