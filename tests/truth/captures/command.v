// A STEP/DIR controller of our own invention: 30 us after each rising edge of step it moves its four
// phases on by one, up while dir is high. FAULT 1: it loses every ninth command. FAULT 2: it takes
// 200 us from the sixth command on.
`timescale 1us/1us
module command;
  parameter FAULT = 0;
  reg step = 0, dir = 1;
  reg [3:0] phases = 4'b0001;
  integer count = 0;

  always @(posedge step) begin
    count = count + 1;
    if (!(FAULT == 1 && count % 9 == 0)) begin
      if (FAULT == 2 && count > 5) #200; else #30;
      phases = dir ? {phases[2:0], phases[3]} : {phases[0], phases[3:1]};
    end
  end

  task move(input integer steps);
    integer k;
    for (k = 0; k < steps; k = k + 1) begin
      step = 1; #20;
      step = 0; #1980;
    end
  endtask

  initial begin
    $dumpfile("command.vcd");
    $dumpvars(0, command);
    #5000;
    move(24);
    #20000 dir = 0;
    #100;
    move(17);
    #20000 dir = 1;
    #100;
    move(9);
    #20000 $finish;
  end
endmodule
