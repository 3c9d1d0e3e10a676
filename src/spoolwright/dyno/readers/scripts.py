"""Japanese and Russian words of column names, put into English ones that :mod:`words` knows.

Japanese writes without blanks, so its words are sought anywhere, the longest first; Russian ones by the beginning of a
word, because their endings change. Common practice, no source.
"""

# ruff: noqa: E501  (word lists read better wide)

from __future__ import annotations

import re
import unicodedata
from typing import Final

_JAPANESE: Final[dict[str, str]] = {
    "経過時間": "time", "時間": "time", "時刻": "time", "日付": "date", "エンジン回転": "engine rpm", "回転数": "rpm", "回転速度": "rpm",
    "タービン回転": "turbo speed", "ターボ回転": "turbo speed", "ローラー回転": "roller speed", "ローラ回転": "roller speed",
    "ドラム回転": "roller speed", "ローラー": "roller", "ローラ": "roller", "ドラム": "roller", "エンジン": "engine",
    "アクセル開度": "throttle position", "スロットル開度": "throttle position", "スロットル": "throttle", "アクセル": "throttle",
    "ブースト圧": "boost pressure", "ブースト": "boost", "過給圧": "boost pressure", "吸気圧": "manifold pressure",
    "吸気管圧": "manifold pressure", "インマニ圧": "manifold pressure", "絶対": "absolute", "ゲージ": "gauge", "大気圧": "barometer",
    "気圧": "barometer", "背圧": "backpressure pressure", "排気圧": "exhaust pressure", "排圧": "exhaust pressure", "燃料圧": "fuel pressure",
    "燃圧": "fuel pressure", "油圧": "oil pressure", "クランクケース": "crankcase", "圧力": "pressure", "圧": "pressure", "油温": "oil temp",
    "水温": "water temp", "冷却水": "water", "外気温": "ambient temp", "室温": "ambient temp", "大気温": "ambient temp",
    "吸気温": "intake temp", "過給気温": "charge temp", "排気温": "exhaust temp", "排温": "exhaust temp", "温度": "temp",
    "シリンダーヘッド": "head", "シリンダヘッド": "head", "ヘッド": "head", "シリンダー": "cylinder", "シリンダ": "cylinder", "気筒": "cylinder",
    "吸気": "intake", "排気": "exhaust", "油": "oil", "オイル": "oil", "燃料流量": "fuel flow", "燃料消費": "fuel flow", "燃料": "fuel",
    "流量": "flow", "空燃比": "afr", "空気過剰率": "lambda", "当量比": "equivalence", "ラムダ": "lambda", "点火時期": "spark advance",
    "点火": "spark", "進角": "advance", "ノッキング": "knock", "ノック": "knock", "トルク": "torque", "出力": "power", "馬力": "power",
    "負荷": "load", "ポンプ電圧": "pump voltage", "バッテリー": "battery", "バッテリ": "battery", "電圧": "voltage", "ギヤ": "gear",
    "ギア": "gear", "目標": "target", "補正": "correction", "車速": "vehicle speed", "備考": "remark", "メモ": "remark", "マーカー": "marker",
    "番号": "index",
}  # fmt: skip
_RUSSIAN: Final[dict[str, str]] = {
    "врем": "time", "дата": "date", "оборот": "rpm", "частота вращения": "rpm", "двигател": "engine", "барабан": "roller",
    "ролик": "roller", "дроссел": "throttle", "газа": "throttle", "наддув": "boost", "впуск": "intake", "коллектор": "manifold",
    "абсолютн": "absolute", "атмосферн": "ambient", "барометр": "barometer", "давлени": "pressure", "температур": "temp",
    "масл": "oil", "охлажда": "water", "вод": "water", "тосол": "water", "воздух": "air", "выхлоп": "exhaust", "выпуск": "exhaust",
    "отработавш": "exhaust", "головк": "head", "цилиндр": "cylinder", "топлив": "fuel", "расход": "flow", "лямбда": "lambda",
    "момент": "torque", "мощност": "power", "зажигани": "spark", "уоз": "spark", "детонац": "knock", "напряжени": "voltage",
    "аккумулятор": "battery", "насос": "pump", "турбокомпрессор": "turbo", "турбин": "turbine", "картер": "crankcase",
    "нагрузк": "load", "передач": "gear", "целев": "target", "коррекц": "correction", "скорост": "vehicle speed", "метк": "marker",
    "примечан": "remark",
}  # fmt: skip
_LONGEST_FIRST: Final = re.compile("|".join(sorted(map(re.escape, _JAPANESE), key=len, reverse=True)))
_STEM: Final = re.compile(
    r"(?i)(?<![а-яё])(" + "|".join(sorted(map(re.escape, _RUSSIAN), key=len, reverse=True)) + r")[а-яё]*"
)
_KANA_OR_KANJI: Final = re.compile(r"[\u3040-\u30ff\u4e00-\u9fff]")
_CYRILLIC: Final = re.compile(r"[\u0400-\u04ff]")


def to_english(text: str) -> str:
    """``text`` with the Japanese and Russian words known here put into English; everything else stays."""
    if text.isascii():
        return text
    if any("\uff00" <= c <= "\uffef" for c in text):
        text = unicodedata.normalize("NFKC", text)
    if _KANA_OR_KANJI.search(text):
        text = _LONGEST_FIRST.sub(lambda m: f" {_JAPANESE[m[0]]} ", text)
    if _CYRILLIC.search(text):
        text = _STEM.sub(lambda m: f" {_RUSSIAN[m[1].lower()]} ", text)
    return text


def japanese_words(text: str) -> int:
    """How many of the words known here stand in ``text``; tells a Japanese code page."""
    return len(_LONGEST_FIRST.findall(text))
