"""Panels: controls, one picture and one sentence; they connect and compute nothing.

A workbook cell is one line, such as `panels.load()`.
"""

from tapkit.panels.allways import all_ways_panel as all_ways
from tapkit.panels.answers import answers
from tapkit.panels.askew import askew
from tapkit.panels.bench import bench
from tapkit.panels.chips import chips
from tapkit.panels.choice import choice
from tapkit.panels.classtest import class_test
from tapkit.panels.cycle import cycle
from tapkit.panels.desk.desk import desk
from tapkit.panels.diagnosis import diagnosis
from tapkit.panels.drawerpanel import own_drawer
from tapkit.panels.drills import drills
from tapkit.panels.finaltest import check_test, final_test
from tapkit.panels.fivechoices import five_choices
from tapkit.panels.groove import groove
from tapkit.panels.hole import hole
from tapkit.panels.holeplanning import holeplan
from tapkit.panels.lean import lean
from tapkit.panels.load import load
from tapkit.panels.measuredtorque import measured_torque
from tapkit.panels.myname import my_name
from tapkit.panels.mypage import my_page, summary
from tapkit.panels.notes import notes
from tapkit.panels.questionmaker import own_questions
from tapkit.panels.quiz import exercises, faded, practice, quiz, worked
from tapkit.panels.sayings import sayings
from tapkit.panels.section import section
from tapkit.panels.setupcard import setup_card
from tapkit.panels.tally import lesson_room, room, tally
from tapkit.panels.tapphoto import measure_tap
from tapkit.panels.teach import lesson_plan, teach, training_topics
from tapkit.panels.terms import lesson_words
from tapkit.panels.text import cautions, chamfer_words, formula, formulas, glossary, plate, sources
from tapkit.panels.threadstrength import thread_strength
from tapkit.panels.tip import tip
from tapkit.panels.wrench import wrench
